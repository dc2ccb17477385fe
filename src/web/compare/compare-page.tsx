/** Two sets of readings side by side: unit against unit, or one unit over the years; and each point's history. */

import { useRef, useState } from 'react';
import type { CompareView, MachineView, ReadingSet } from '../../server/index.ts';
import { useWidth } from '../bench/width.ts';
import { dayWords } from '../dates.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { api, useLive } from '../live.ts';
import { DotMark, RingMark } from '../marks.tsx';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { axisOf, Scale } from '../strip/index.ts';
import { WithMachine } from '../with-machine.tsx';
import { CompareRowItem } from './compare-row.tsx';
import { type CompareRow, drifted, furthestFirst } from './drift.ts';
import './compare.css';

export default function ComparePage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Compare">
      {(machine) => <Compare machine={machine} query={query} />}
    </WithMachine>
  );
}

/** Rows at first; the rest comes with a press. */
const FIRST_ROWS = 60;

function Compare({ machine, query }: { readonly machine: MachineView; readonly query: URLSearchParams }) {
  const id = String(machine.id);
  const [first, second] = usualSets(machine);
  const left = query.get('left') ?? first;
  const right = query.get('right') ?? second;
  const inOrder = query.get('order') === 'signal';
  const found = useLive(
    api.machines[':id'].compare,
    left && right ? { param: { id }, query: { left, right } } : undefined,
  );
  const last = useRef<CompareView>(undefined);
  if (found.value) last.current = found.value;
  const view = found.value ?? last.current;
  const move = (change: { left?: string; right?: string; order?: string | undefined }) => {
    const to = { left, right, order: inOrder ? 'signal' : undefined, ...change };
    go(address(`/m/${encodeURIComponent(id)}/compare`, to), { replace: true });
  };
  const swap = () => left && right && move({ left: right, right: left });
  const turn = () => move({ order: inOrder ? undefined : 'signal' });
  useKeys({ s: swap, o: turn });
  return (
    <Frame
      title={`Compare on ${machine.name}`}
      machine={{ id, name: machine.name }}
      keys={[
        { caps: ['S'], does: 'swap the sets', foot: true, press: swap },
        { caps: ['O'], does: 'the other order', foot: true, press: turn },
      ]}
    >
      <div className="page-body compare">
        <h1>Compare</h1>
        {found.problem && <p className="refusal">{found.problem.message}</p>}
        {!left || !right ? (
          <p className="prose">There is no unit on this machine yet, so there are no readings to compare.</p>
        ) : !view ? (
          !found.problem && <p className="label">Reckoning what a sound unit may differ by</p>
        ) : (
          <>
            <div className="compare-sets">
              <SetChoice
                label="Set on the left, taken for sound"
                mark={<RingMark />}
                sets={view.sets}
                value={left}
                onChange={(key) => move({ left: key })}
              />
              <SetChoice
                label="Set on the right, held against it"
                mark={<DotMark />}
                sets={view.sets}
                value={right}
                onChange={(key) => move({ right: key })}
              />
              <button type="button" className="button" onClick={swap}>
                Swap
              </button>
            </div>
            <Rows machine={machine} view={view} inOrder={inOrder} onOrder={turn} />
          </>
        )}
      </div>
    </Frame>
  );
}

function SetChoice({
  label,
  mark,
  sets,
  value,
  onChange,
}: {
  readonly label: string;
  readonly mark: React.ReactNode;
  readonly sets: readonly ReadingSet[];
  readonly value: string;
  readonly onChange: (key: string) => void;
}) {
  return (
    <label>
      <span className="label">
        {mark} {label}
      </span>
      <select className="choice" value={value} onChange={(event) => onChange(event.target.value)}>
        {sets.map((set) => (
          <option key={set.key} value={set.key}>
            {setWords(set)}, {set.readings === 1 ? '1 reading' : `${set.readings} readings`}
          </option>
        ))}
      </select>
    </label>
  );
}

/** `south on 9 November 2024`, `south` for all its days. */
function setWords({ unit, date }: ReadingSet): string {
  return date === '' ? unit : `${unit} on ${dayWords(date)}`;
}

function Rows({
  machine,
  view,
  inOrder,
  onOrder,
}: {
  readonly machine: MachineView;
  readonly view: CompareView;
  readonly inOrder: boolean;
  readonly onOrder: () => void;
}) {
  const [all, setAll] = useState(false);
  const [alone, setAlone] = useState(false);
  const [opened, setOpened] = useState<string>();
  const cell = useRef<HTMLSpanElement>(null);
  const width = useWidth(cell, 520);
  const { left, right } = view;
  const counts = drifted(view.rows);
  const both = view.rows.filter((row) => row.left && row.right);
  const single = view.rows.length - both.length;
  const wanted = alone ? view.rows : both;
  const rows = inOrder ? wanted : furthestFirst(wanted);
  const shown = all ? rows : rows.slice(0, FIRST_ROWS);
  const family = (row: CompareRow) => machine.points.find(({ point }) => point === row.point)?.family ?? 0;
  const [top] = shown;
  if (counts.both === 0 && !alone) {
    return (
      <p className="prose">
        No point was read in both sets in the same state.{' '}
        {single > 0 && `${single} were read in one of them. `}
        Read the same points, in the same state, on both.
      </p>
    );
  }
  return (
    <section className="compare-rows" aria-label="Points in both sets">
      <div className="compare-words">
        <p>
          <b>{driftWords(counts)}</b>{' '}
          <span className="label">
            of {counts.both} points read in both; spreads are those of a sound unit that is held against{' '}
            {setWords(left)}
          </span>
        </p>
        <button type="button" className="button plain" onClick={onOrder}>
          {inOrder ? 'Furthest first' : 'In signal order'}
        </button>
      </div>
      <div className="compare-head label" aria-hidden="true">
        <span className="compare-name">point</span>
        <span className="compare-strip" ref={cell}>
          {top && <Scale axis={axisOf(machine.families[family(top)]!)} width={width} />}
        </span>
        <span className="compare-value">{shortSet(left, right)}</span>
        <span className="compare-value">{shortSet(right, left)}</span>
        <span className="compare-off">spreads</span>
      </div>
      <ol>
        {shown.map((row, i) => {
          const key = `${row.state}\n${row.point}`;
          return (
            <CompareRowItem
              key={key}
              machine={machine}
              row={row}
              sets={view}
              family={family(row)}
              scaled={i > 0 && family(row) !== family(shown[i - 1]!)}
              width={width}
              opened={opened === key}
              onPress={() => setOpened(opened === key ? undefined : key)}
            />
          );
        })}
      </ol>
      <p className="compare-more">
        {rows.length > shown.length && (
          <button type="button" className="button" onClick={() => setAll(true)}>
            All {rows.length} points
          </button>
        )}
        {single > 0 && (
          <button type="button" className="button plain" onClick={() => setAlone(!alone)}>
            {alone ? 'Only points read in both' : `Also the ${single} read in one set only`}
          </button>
        )}
      </p>
    </section>
  );
}

/** As short as tells the two apart: the unit, or the day where the units are the same. */
function shortSet(set: ReadingSet, other: ReadingSet): string {
  return set.unit !== other.unit ? set.unit : set.date === '' ? 'all days' : set.date;
}

function driftWords({ departs, doubtful }: { departs: number; doubtful: number }): string {
  const words = [
    departs > 0 && (departs === 1 ? '1 departs' : `${departs} depart`),
    doubtful > 0 && (doubtful === 1 ? '1 is doubtful' : `${doubtful} are doubtful`),
  ].filter(Boolean);
  return words.length === 0 ? 'None is off' : words.join(', ');
}

/** A healthy unit against the first that is not; with one unit only, that against itself. */
function usualSets({ units }: MachineView): readonly [string | undefined, string | undefined] {
  const healthy = units.find(({ health }) => health === 'healthy') ?? units[0];
  const other =
    units.find(({ id, health }) => health !== 'healthy' && id !== healthy?.id) ??
    units.find(({ id }) => id !== healthy?.id);
  return [healthy?.id, (other ?? healthy)?.id];
}
