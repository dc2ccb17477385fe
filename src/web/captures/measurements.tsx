/** What is measured on the chosen point, of either unit, between the cursors; a press takes a value as a reading. */

import { useEffect, useState } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { isMeasured, mapped, type TimeMap } from '../../waveform/index.ts';
import { api, told } from '../live.ts';
import type { Group, Loaded } from './lanes.ts';
import { Owner } from './owner.tsx';
import { isReading, type Quantity, readingText, reasonWords } from './quantities.ts';
import { type Reckoner, Stopped } from './reckoner.ts';
import { bounded, plusMinus } from './scale.ts';
import type { Span } from './span.ts';
import type { Side } from './waves.tsx';

/** Rows that are always there; the others come with a press. */
export const FIRST: readonly string[] = [
  'moves at all',
  'level',
  'high level',
  'low level',
  'average',
  'peak to peak',
  'period',
  'frequency',
  'pulse width, high',
  'rise, 10 to 90 %',
  'fall, 90 to 10 %',
];

export function Measurements({
  machine,
  reckoner,
  sides,
  group,
  groups,
  window,
  map,
}: {
  readonly machine: MachineView;
  readonly reckoner: Reckoner;
  readonly sides: readonly Side[];
  readonly group: Group | undefined;
  readonly groups: readonly Group[];
  readonly window: Span | undefined;
  readonly map: TimeMap;
}) {
  const [all, setAll] = useState(false);
  const [said, say] = useState<{ readonly words: string; readonly refused?: boolean }>();
  const columns = [group?.reference, group?.other].flatMap((one) => (one ? [one] : []));
  const first = useQuantities(reckoner, columns[0], groups, window, map);
  const second = useQuantities(reckoner, columns[1], groups, window, map);
  const results = [first, second].slice(0, columns.length);
  const [one] = columns;
  if (!one) return null;
  const entryOf = (loaded: Loaded): CaptureEntry | undefined => sides[loaded.second ? 1 : 0]?.entry;
  const names = [...new Set(results.flatMap(({ list }) => list.map(({ words }) => words)))];
  const shown = names.filter((name) => all || FIRST.includes(name) || name.startsWith('delay'));
  const take = async (loaded: Loaded, taken: Quantity): Promise<void> => {
    const entry = entryOf(loaded);
    if (!entry || !isMeasured(taken.estimate) || !taken.reading) return;
    const lacks = [!entry.unit && 'a unit', !entry.state && 'a state', !loaded.point && 'a point'].filter(
      Boolean,
    );
    if (lacks.length > 0) {
      say({
        refused: true,
        words: `Not taken: this capture has no ${lacks.join(', ')} yet. Say so in the list of captures.`,
      });
      return;
    }
    const { value, uncertainty } = taken.estimate;
    const outcome = await told(
      api.machines[':id'].readings.$post({
        param: { id: String(machine.id) },
        json: {
          unit: entry.unit,
          state: entry.state,
          point: loaded.point,
          quantity: taken.reading,
          text: readingText(value, uncertainty),
          note: `measured on ${entry.file}`,
        },
      }),
    );
    say(
      outcome.ok
        ? {
            words: `Taken: ${taken.words} of ${loaded.point} on ${entry.unit}, ${figures(taken).text}`,
          }
        : { refused: true, words: `Not taken: ${outcome.problem.message}` },
    );
  };
  return (
    <section className="waves-measures" aria-label="Measured">
      <h2>
        At {one.title} <span className="label">{window ? 'between the cursors' : 'over all of it'}</span>
      </h2>
      <table>
        <caption className="aside">
          What is measured at {one.title}; a value that is a button is taken as a reading when pressed
        </caption>
        <thead>
          <tr>
            <td />
            {columns.map((column) => (
              <th key={column.key} scope="col">
                <Owner machine={machine} unit={entryOf(column)?.unit ?? ''} />
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {shown.map((name) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              {columns.map((column, i) => {
                const found = results[i]!.list.find(({ words }) => words === name);
                return (
                  <td key={column.key}>
                    {found && (
                      <Value
                        found={found}
                        loaded={column}
                        entry={entryOf(column)}
                        onTake={() => take(column, found)}
                      />
                    )}
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
      <p className={said?.refused ? 'refusal' : 'label'} role="status">
        {results.some(({ busy }) => busy)
          ? 'Measuring'
          : (results.find(({ problem }) => problem)?.problem ?? said?.words ?? '')}
      </p>
      {names.length > 0 && (
        <button type="button" className="button plain" aria-expanded={all} onClick={() => setAll(!all)}>
          {all ? 'Fewer' : 'All that is measured'}
        </button>
      )}
    </section>
  );
}

function Value({
  found,
  loaded,
  entry,
  onTake,
}: {
  readonly found: Quantity;
  readonly loaded: Loaded;
  readonly entry: CaptureEntry | undefined;
  readonly onTake: () => void;
}) {
  const { estimate, words } = found;
  if (!isMeasured(estimate)) return <span className="label">{reasonWords(estimate.reason)}</span>;
  const { text, open } = figures(found);
  if (!isReading(found, loaded.unit)) {
    return (
      <span className="waves-value">
        <span>{text}</span>
        {open && <small>{open}</small>}
      </span>
    );
  }
  const name = `Take ${words} ${text} as a reading of ${entry?.unit || 'no unit'} at ${loaded.title}`;
  return (
    <button type="button" className="waves-value" aria-label={name} title={name} onClick={onTake}>
      <span>{text}</span>
      {open && <small>{open}</small>}
    </button>
  );
}

/** A value as far as its uncertainty bears it, volts in volts, and the uncertainty by itself. */
export function figures(found: Quantity): { readonly text: string; readonly open?: string } {
  const { estimate, unit } = found;
  if (!isMeasured(estimate)) return { text: '' };
  const { value, uncertainty } = estimate;
  if (found.reading === 'moves') return { text: value === 1 ? 'yes' : 'no' };
  if (unit === '%') {
    const open = uncertainty > 0 ? { open: `${plusMinus(100 * uncertainty, 100 * value, '')} %` } : {};
    return { text: `${bounded(100 * value, 100 * uncertainty, '')} %`, ...open };
  }
  return {
    text: bounded(value, uncertainty, unit),
    ...(uncertainty > 0 ? { open: plusMinus(uncertainty, value, unit) } : {}),
  };
}

interface Measured {
  readonly list: readonly Quantity[];
  readonly busy: boolean;
  readonly problem?: string;
}

export function useQuantities(
  reckoner: Reckoner,
  loaded: Loaded | undefined,
  groups: readonly Group[],
  window: Span | undefined,
  map: TimeMap,
): Measured {
  const [state, setState] = useState<Measured & { readonly of?: string }>({ list: [], busy: false });
  const key = loaded?.key;
  const others = groups
    .map(({ reference, other }) => (loaded?.second ? other : reference))
    .flatMap((one) =>
      one && one.key !== key && one.point !== '' ? [{ point: one.point, key: one.key }] : [],
    );
  const said = JSON.stringify(others);
  const own =
    window && loaded?.second ? { from: mapped(map, window.from), to: mapped(map, window.to) } : window;
  // biome-ignore lint/correctness/useExhaustiveDependencies: the texts and numbers say all
  useEffect(() => {
    if (key === undefined) return undefined;
    const stop = new AbortController();
    setState((before) => ({ list: before.of === key ? before.list : [], busy: true, of: key }));
    reckoner
      .ask('quantities', { key, window: own, from: others }, [key, ...others.map((one) => one.key)], {
        signal: stop.signal,
      })
      .then((list) => stop.signal.aborted || setState({ list, busy: false, of: key }))
      .catch((error: Error) => {
        if (!(error instanceof Stopped)) setState({ list: [], busy: false, problem: error.message, of: key });
      });
    return () => stop.abort();
  }, [reckoner, key, said, own?.from, own?.to]);
  return state.of === key ? state : { list: [], busy: key !== undefined };
}
