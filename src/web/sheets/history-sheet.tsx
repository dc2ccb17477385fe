/** Every reading that was ever taken, the newest first; one that counts can be withdrawn. */

import { useMemo, useRef, useState } from 'react';
import type { ReadingView } from '../../server/index.ts';
import { api, outdateMachine, told, useLive } from '../live.ts';
import { columnWidth } from './columns.ts';
import { Grid, type GridHandle } from './grid.tsx';

const COLUMNS = [
  ['taken', 'taken at'],
  ['unit', 'unit'],
  ['state', 'state'],
  ['point', 'point'],
  ['text', 'volts'],
  ['standing', 'stands'],
  ['instrument', 'meter'],
  ['ambient', 'room, °C'],
  ['note', 'note'],
] as const;

const STANDS: Readonly<Record<ReadingView['standing'], string>> = {
  counts: 'counts',
  superseded: 'replaced later',
  withdrawn: 'withdrawn',
};

export function HistorySheet({ machine }: { readonly machine: string }) {
  const { value: readings, problem } = useLive(api.machines[':id'].readings, {
    param: { id: machine },
    query: {},
  });
  const [search, setSearch] = useState('');
  const [said, say] = useState('');
  const grid = useRef<GridHandle>(null);
  const shown = useMemo(() => found(readings ?? [], search), [readings, search]);
  const rows = useMemo(
    () =>
      shown.map((reading, i) => {
        const { id, unit, state, point, text, standing, instrument, ambient, note, takenAt } = reading;
        const cells = {
          unit,
          state,
          point,
          text,
          instrument,
          ambient,
          note,
          taken: moment(takenAt),
          standing: STANDS[standing],
        };
        return { key: `h${id}`, head: String(i + 1), cells };
      }),
    [shown],
  );
  const columns = useMemo(
    () =>
      COLUMNS.map(([name, title]) => ({
        name,
        title,
        width: columnWidth(
          title,
          rows.map(({ cells }) => cells[name]),
        ),
      })),
    [rows],
  );
  const withdraw = async () => {
    const at = grid.current?.active().from;
    const reading = at === undefined ? undefined : shown[at];
    if (!reading) return;
    if (reading.standing !== 'counts') {
      say(`This one ${STANDS[reading.standing] === 'withdrawn' ? 'is withdrawn' : 'is replaced'} already.`);
      return;
    }
    const param = { id: machine, reading: String(reading.id) };
    const outcome = await told(api.machines[':id'].readings[':reading'].withdraw.$post({ param }));
    outdateMachine(machine);
    say(
      outcome.ok
        ? `${reading.point}: withdrawn. It stays here.`
        : `Not withdrawn: ${outcome.problem.message}`,
    );
  };
  if (!readings)
    return <p className={problem ? 'refusal' : 'label'}>{problem?.message ?? 'Reading the history'}</p>;
  return (
    <>
      <div className="history-search">
        <div className="entry">
          <label className="label" htmlFor="history-search">
            Only with these words: a unit, a state, a point
          </label>
          <input
            id="history-search"
            type="search"
            value={search}
            onChange={({ target }) => setSearch(target.value)}
          />
        </div>
      </div>
      {rows.length === 0 ? (
        <p className="prose">
          {search === '' ? 'No reading is on record.' : 'No reading has all of these words.'}
        </p>
      ) : (
        <Grid handle={grid} label="History of readings" columns={columns} rows={rows} onSay={say} />
      )}
      <div className="sheet-foot">
        <button type="button" className="button" onClick={() => void withdraw()}>
          Withdraw this reading
        </button>
        <p role="status" className="sheet-said">
          {said}
        </p>
        <p className="label sheet-count">
          {rows.length} of {readings.length} readings
        </p>
      </div>
    </>
  );
}

function found(readings: readonly ReadingView[], search: string): ReadingView[] {
  const words = search.toLowerCase().split(/\s+/);
  return readings
    .filter(({ unit, state, point, note, instrument, takenAt }) => {
      const all = `${unit} ${state} ${point} ${note} ${instrument} ${takenAt}`.toLowerCase();
      return words.every((word) => all.includes(word));
    })
    .toSorted((a, b) => b.takenAt.localeCompare(a.takenAt) || b.id - a.id);
}

function moment(at: string): string {
  return at === '' ? '' : at.replace('T', ' ').slice(0, 16);
}
