/** A bench sheet to print: the points of a board in one state, with lines to write on. */

import type { MachineView } from '../../server/index.ts';
import { api, useLive } from '../live.ts';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { BenchSheet } from './bench-sheet.tsx';
import { Printing, useFormat } from './printing.tsx';

export default function SheetPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Bench sheet">
      {(machine) => <Sheet machine={machine} query={query} />}
    </WithMachine>
  );
}

const OTHERS = 'between boards';

function Sheet({ machine, query }: { readonly machine: MachineView; readonly query: URLSearchParams }) {
  const [format, setFormat] = useFormat();
  const id = String(machine.id);
  const { units, states, points } = machine;
  const boards = [...new Set(points.map(({ board }) => board))];
  const unit =
    units.find((one) => one.id === query.get('unit')) ??
    units.find((one) => one.health !== 'healthy') ??
    units[0];
  const suspects = useLive(
    api.machines[':id'].suspects,
    unit && { param: { id }, query: { unit: unit.id } },
  ).value;
  const first = suspects?.next[0];
  // Where the next reading is wanted, unless somebody says otherwise.
  const state =
    states.find(({ name }) => name === query.get('state'))?.name ?? first?.state ?? states[0]?.name;
  const asked = query.get('board');
  const board =
    boards.find((one) => (one || OTHERS) === asked) ??
    points.find(({ point }) => point === first?.point)?.board ??
    boards[0];
  const minutes = [...new Set(points.filter((one) => one.board === board).map((one) => one.minutes))].sort(
    (a, b) => a - b,
  );
  const most = Number(query.get('minutes')) || Number.POSITIVE_INFINITY;
  const move = (change: Record<string, string | undefined>) => {
    const kept = {
      unit: unit?.id,
      state,
      board: board || OTHERS,
      minutes: query.get('minutes') ?? undefined,
    };
    go(address(`/m/${encodeURIComponent(id)}/print/sheet`, { ...kept, ...change }), { replace: true });
  };
  const choices = (
    <>
      <Choice
        label="Board"
        value={board || OTHERS}
        options={boards.map((one) => one || OTHERS)}
        onChange={(to) => move({ board: to, minutes: undefined })}
      />
      <Choice
        label="State"
        value={state ?? ''}
        options={states.map(({ name }) => name)}
        onChange={(to) => move({ state: to })}
      />
      <Choice
        label="Unit"
        value={unit?.id ?? ''}
        options={units.map((one) => one.id)}
        onChange={(to) => move({ unit: to })}
      />
      {minutes.length > 1 && (
        <label>
          <span className="label">Points</span>
          <select
            className="choice"
            value={Number.isFinite(most) ? String(most) : ''}
            onChange={(event) => move({ minutes: event.target.value || undefined })}
          >
            {minutes.slice(0, -1).map((one) => (
              <option key={one} value={one}>
                up to {one === 1 ? '1 minute' : `${one} minutes`}
              </option>
            ))}
            <option value="">all</option>
          </select>
        </label>
      )}
    </>
  );
  const ready = unit !== undefined && state !== undefined && board !== undefined;
  return (
    <Printing machine={machine} title="Bench sheet" format={format} onFormat={setFormat} choices={choices}>
      {ready ? (
        <BenchSheet
          key={`${unit.id} ${state} ${board} ${most} ${format}`}
          machine={machine}
          unit={unit.id}
          state={state}
          board={board}
          most={most}
          suspects={suspects}
          format={format}
        />
      ) : (
        <p className="prose">
          A bench sheet needs a unit, a state and a point; this machine has not all of them yet.
        </p>
      )}
    </Printing>
  );
}

function Choice({
  label,
  value,
  options,
  onChange,
}: {
  readonly label: string;
  readonly value: string;
  readonly options: readonly string[];
  readonly onChange: (to: string) => void;
}) {
  return (
    <label>
      <span className="label">{label}</span>
      <select className="choice" value={value} onChange={(event) => onChange(event.target.value)}>
        {options.map((one) => (
          <option key={one}>{one}</option>
        ))}
      </select>
    </label>
  );
}
