/** The view of one or two captures: lanes, cursors, measurements and differences, and the keys that move them. */

import { type ReactNode, useEffect, useMemo, useRef, useState, useSyncExternalStore } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { type BitDifference, mapped } from '../../waveform/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { Link } from '../link.tsx';
import { between as spanBetween, valueAt } from './cursors.ts';
import { Differences, type Listed } from './differences.tsx';
import { type Arrangement, finestStep, type Group, type Loaded, lanesOf, wholeOf } from './lanes.ts';
import { LanesCanvas, labelHeights } from './lanes-canvas.tsx';
import { Measurements } from './measurements.tsx';
import { Owner } from './owner.tsx';
import type { Lane } from './picture.ts';
import type { Reckoner } from './reckoner.ts';
import { quantity } from './scale.ts';
import { instant } from './sentences.ts';
import { type Pair, triggered } from './sides.ts';
import type { Span } from './span.ts';
import type { Traces } from './use-traces.ts';
import { type Laying, type LoadedPair, useTwins } from './use-twins.ts';
import { viewKeys } from './view-keys.ts';
import { WaveView } from './wave-view.ts';
import { wavesPath } from './waves-path.ts';
import { type FoundWords, WordsPanel } from './words-panel.tsx';

export interface Side {
  readonly entry: CaptureEntry;
  readonly traces: Traces;
}

const ARRANGEMENTS: readonly Arrangement[] = ['by point', 'overlay', 'stacked', 'difference'];
const NO_PAIRS: readonly LoadedPair[] = [];

export function Waves({
  machine,
  reckoner,
  sides,
  own,
  pairs,
  heading,
  choices,
}: {
  readonly machine: MachineView;
  readonly reckoner: Reckoner;
  /** The reference first, then what is held against it. */
  readonly sides: readonly Side[];
  /** Which of the sides the page is about. */
  readonly own: number;
  readonly pairs: readonly Pair[];
  readonly heading: ReactNode;
  readonly choices: ReactNode;
}) {
  const id = String(machine.id);
  const [view] = useState(() => new WaveView());
  const [arrangement, setArrangement] = useState<Arrangement>('by point');
  const [chosen, setChosen] = useState(0);
  const [laying, setLaying] = useState<Partial<Laying>>({});
  const [looked, setLooked] = useState(-1);
  const [found, setFound] = useState<{ readonly of: string; readonly words: FoundWords }>();
  const entries = sides.map(({ entry }) => entry);
  const how: Laying = {
    how: triggered(...entries) ? 'trigger' : 'likeness',
    rate: 0,
    volts: undefined,
    seconds: undefined,
    ...laying,
  };
  const [reference, other] = sides;
  const loadedPairs = useMemo(() => {
    if (!reference || !other) return NO_PAIRS;
    const find = (traces: Traces, index: number, entry: CaptureEntry): Loaded | undefined =>
      traces.loaded.find(({ key }) => key === `${entry.id}/${index}`);
    return pairs.flatMap((pair) => {
      const one = find(reference.traces, pair.reference, reference.entry);
      const two = find(other.traces, pair.other, other.entry);
      return one && two ? [{ reference: one, other: two }] : [];
    });
  }, [reference?.traces, other?.traces, pairs, reference, other]);
  const whole = pairs.length > 0 && loadedPairs.length === pairs.length ? loadedPairs : NO_PAIRS;
  const leading = whole.find(({ reference: one }) => one.low < one.high) ?? whole[0];
  const twins = useTwins(reckoner, whole, leading, how, arrangement === 'difference');

  const words = found?.words;
  const groups = useMemo((): readonly Group[] => {
    const all: Group[] = [];
    const bare = { departures: [], referenceWords: [], otherWords: [] };
    for (const one of sides[0]?.traces.loaded ?? []) {
      const pair = loadedPairs.find((two) => two.reference === one);
      const what = twins.between.get(one.key);
      const departures =
        what?.kind === 'logic'
          ? what.differences
          : what?.kind === 'trace' && 'differences' in what.comparison
            ? what.comparison.differences
            : [];
      const mine = found?.of === one.key ? found.words : undefined;
      all.push({
        ...bare,
        reference: one,
        ...(pair ? { other: pair.other } : {}),
        departures: mine && mine.departures.length > 0 ? mine.departures : departures,
        ...(what?.kind === 'trace' && what.difference ? { difference: what.difference } : {}),
        ...(mine ? { referenceWords: mine.first, otherWords: mine.second } : {}),
      });
    }
    for (const one of sides[1]?.traces.loaded ?? []) {
      if (loadedPairs.every((pair) => pair.other !== one)) all.push({ ...bare, other: one });
    }
    return all;
  }, [sides[0]?.traces, sides[1]?.traces, loadedPairs, twins.between, found]);
  const place = Math.min(chosen, Math.max(0, groups.length - 1));
  const group = groups[place];
  const lanes = useMemo(
    () => lanesOf(groups, arrangement, place, twins.map),
    [groups, arrangement, place, twins.map],
  );
  useEffect(() => {
    if (groups.length > 0) view.show(wholeOf(groups, twins.map), finestStep(groups));
  }, [view, groups, twins.map]);

  const listed = useMemo(
    (): readonly Listed[] => listedOf(groups, twins.between, found),
    [groups, twins.between, found],
  );
  const target = listed[looked];
  const step = (by: number): void => {
    if (listed.length === 0) return;
    const next =
      looked < 0 ? (by > 0 ? 0 : listed.length - 1) : (looked + by + listed.length) % listed.length;
    lookAt(next);
  };
  const lookAt = (index: number): void => {
    const one = listed[index];
    if (!one) return;
    setLooked(index);
    setChosen(one.group);
    view.goTo(one);
  };
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new list has nothing that was looked at
  useEffect(() => setLooked(-1), [listed]);
  const move = (by: number): void => setChosen((place + by + groups.length) % Math.max(1, groups.length));

  useKeys({
    ...viewKeys(view),
    ArrowUp: groups.length > 1 ? () => move(-1) : undefined,
    ArrowDown: groups.length > 1 ? () => move(1) : undefined,
    d: ({ shiftKey }) => step(shiftKey ? -1 : 1),
  });

  const rested = useSyncExternalStore(view.onRest, () => view.rested);
  const window = spanBetween(rested.cursors);
  const coming = sides.map(({ traces }) => traces.coming).find((one) => one !== undefined);
  const problem = sides.map(({ traces }) => traces.problem).find((one) => one !== undefined) ?? twins.problem;
  const [ownSide, otherSide] = own === 0 ? [sides[0], sides[1]] : [sides[1], sides[0]];
  const label = pictureWords(lanes, rested.span);
  return (
    <Frame
      title={`Waves of ${machine.name}`}
      machine={{ id, name: machine.name }}
      className="waves-frame"
      legend={sides.map(({ entry }) => (
        <span key={entry.id} className="waves-legend">
          <Line hollow={(entry === sides[0]?.entry && sides.length > 1) || undefined} />
          <Owner machine={machine} unit={entry.unit} />
        </span>
      ))}
      keys={[
        { caps: ['Left', 'Right'], does: 'along in time', foot: true },
        { caps: ['+', '−'], does: 'closer, wider', foot: true },
        { caps: ['A', 'B'], does: 'cursors', foot: true },
        { caps: ['D'], does: 'to the first difference, then the next', foot: true, press: () => step(1) },
        { caps: ['Shift', 'D'], does: 'the difference before' },
        { caps: ['Shift', 'Left', 'Right'], does: 'move the cursor' },
        { caps: ['Up', 'Down'], does: 'other point' },
        { caps: ['Page Up', 'Page Down'], does: 'a screen earlier, later' },
        { caps: ['Home', 'End'], does: 'to the start, to the end' },
        { caps: ['0'], does: 'all of it', press: () => view.all() },
        { caps: ['Z'], does: 'what lies between the cursors', press: () => view.toCursors() },
        { caps: ['V'], does: 'values fitted to what is seen, or to all', press: () => view.fit() },
        { caps: ['Esc'], does: 'cursors away', press: () => view.clear() },
      ]}
      end={
        <Link to={wavesPath(id)} className="waves-all">
          all captures
        </Link>
      }
    >
      <div className="waves">
        <div className="waves-main">
          <div className="waves-head">
            {heading}
            <div className="waves-choices">
              {choices}
              {other && (
                <LayingChoice laying={how} onChange={(change) => setLaying({ ...laying, ...change })} />
              )}
            </div>
          </div>
          <div className="waves-bar">
            <fieldset className="waves-arrangements" aria-label="Arrangement">
              {ARRANGEMENTS.filter((one) => other || one !== 'difference').map((one) => (
                <button
                  key={one}
                  type="button"
                  aria-pressed={one === arrangement}
                  onClick={() => setArrangement(one)}
                >
                  {one}
                </button>
              ))}
            </fieldset>
            <div className="waves-touch">
              <button type="button" aria-label="Closer" onClick={() => view.zoom(0.5)}>
                +
              </button>
              <button type="button" aria-label="Wider" onClick={() => view.zoom(2)}>
                −
              </button>
              <button type="button" onClick={() => view.all()}>
                all
              </button>
              <button type="button" onClick={() => view.take('a')}>
                A
              </button>
              <button type="button" onClick={() => view.take('b')}>
                B
              </button>
            </div>
            <p role="status" className="waves-said">
              {coming ? `${coming.words}: ${Math.round(100 * coming.share)} % has come` : (twins.busy ?? '')}
            </p>
            {twins.busy && (
              <button type="button" className="button plain" onClick={twins.stop}>
                Stop
              </button>
            )}
          </div>
          {problem && (
            <p className="refusal" role="alert">
              {problem}
            </p>
          )}
          <div className="waves-lanes">
            <LaneLabels
              lanes={lanes}
              groups={groups}
              chosen={place}
              arrangement={arrangement}
              machine={machine}
              onChoose={setChosen}
            />
            <LanesCanvas view={view} lanes={lanes} looked={target} label={label} />
          </div>
          <CursorTable view={view} group={group} map={twins.map} />
        </div>
        <aside className="waves-side">
          {other && (
            <Differences
              reference={sides[0]!.entry}
              other={other.entry}
              group={group}
              between={group?.reference ? twins.between.get(group.reference.key) : undefined}
              alignment={twins.alignment}
              byTrigger={how.how === 'trigger'}
              listed={listed}
              looked={looked}
              onLook={lookAt}
              words={words?.sentence}
            />
          )}
          <Measurements
            machine={machine}
            reckoner={reckoner}
            sides={sides}
            group={group}
            groups={groups}
            window={window}
            map={twins.map}
            own={ownSide === sides[0] || !otherSide ? 0 : 1}
          />
          <WordsPanel
            reckoner={reckoner}
            group={group}
            groups={groups}
            map={twins.map}
            second={other?.entry.unit ?? ''}
            onFound={(words) =>
              setFound(words && group?.reference ? { of: group.reference.key, words } : undefined)
            }
          />
        </aside>
      </div>
    </Frame>
  );
}

function listedOf(
  groups: readonly Group[],
  between: ReturnType<typeof useTwins>['between'],
  found: { readonly of: string; readonly words: FoundWords } | undefined,
): readonly Listed[] {
  const all = groups.flatMap((group, index): Listed[] => {
    const { reference } = group;
    const what = reference && between.get(reference.key);
    if (found && found.of === reference?.key && found.words.differences.length > 0) {
      return found.words.differences.map((bit: BitDifference, k) => {
        const departure = found.words.departures[k]!;
        return { ...departure, group: index, title: reference.title, unit: '', what: { kind: 'bit', bit } };
      });
    }
    if (what?.kind === 'logic') {
      return what.differences.map((state) => ({
        from: state.from,
        to: state.to,
        group: index,
        title: reference!.title,
        unit: '',
        what: { kind: 'state', state },
      }));
    }
    if (what?.kind !== 'trace' || !('differences' in what.comparison)) return [];
    return what.comparison.differences.map((difference) => ({
      from: difference.from,
      to: difference.to,
      group: index,
      title: reference!.title,
      unit: reference!.unit,
      what: { kind: 'trace', difference },
    }));
  });
  return all.sort((p, q) => p.from - q.from);
}

/** A short line as the traces are drawn: hollow or solid. */
function Line({ hollow }: { readonly hollow: boolean | undefined }) {
  return (
    <svg width="32" height="8" viewBox="0 0 32 8" aria-hidden="true">
      <path d="M0 4h32" stroke="var(--ink)" strokeWidth={hollow ? 5 : 2.5} />
      {hollow && <path d="M0 4h32" stroke="var(--paper)" strokeWidth="2" />}
    </svg>
  );
}

function LayingChoice({
  laying,
  onChange,
}: {
  readonly laying: Laying;
  readonly onChange: (change: Partial<Laying>) => void;
}) {
  return (
    <>
      <label>
        <span className="label">Laid on each other by</span>
        <select
          className="choice"
          value={laying.how}
          onChange={({ target }) => onChange({ how: target.value as Laying['how'] })}
        >
          <option value="trigger">the trigger</option>
          <option value="edges">their edges</option>
          <option value="likeness">likeness</option>
        </select>
      </label>
      {laying.how !== 'trigger' && (
        <label>
          <span className="label">Clocks</span>
          <select
            className="choice"
            value={String(laying.rate)}
            onChange={({ target }) => onChange({ rate: Number(target.value) })}
          >
            <option value="0">alike</option>
            <option value="0.001">up to 0.1 % apart</option>
            <option value="0.01">up to 1 % apart</option>
            <option value="0.05">up to 5 % apart</option>
          </select>
        </label>
      )}
    </>
  );
}

/** Names of the lanes, each a button that chooses its point. */
function LaneLabels({
  lanes,
  groups,
  chosen,
  arrangement,
  machine,
  onChoose,
}: {
  readonly lanes: readonly Lane[];
  readonly groups: readonly Group[];
  readonly chosen: number;
  readonly arrangement: Arrangement;
  readonly machine: MachineView;
  readonly onChoose: (group: number) => void;
}) {
  const list = useRef<HTMLDivElement>(null);
  const { top, heights } = labelHeights(lanes);
  const sizes = `${top} ${heights.join(' ')}`;
  useEffect(() => {
    const element = list.current!;
    const [first, ...rest] = sizes.split(' ');
    element.style.paddingTop = `${first}rem`;
    [...element.children].forEach((child, i) => {
      (child as HTMLElement).style.height = `${rest[i]}rem`;
    });
  }, [sizes]);
  return (
    <div className="waves-labels" ref={list}>
      {lanes.map((lane) => {
        const index = groups.findIndex(
          ({ reference, other }) => reference?.key === lane.key || other?.key === lane.key,
        );
        const group = groups[index];
        const one = group?.reference ?? group?.other;
        if (!one) {
          const title = groups.flatMap(({ difference }) =>
            difference?.key === lane.key ? [difference.title] : [],
          )[0];
          return (
            <div key={lane.key} className="waves-label">
              {title && <span className="label">{title}</span>}
              {arrangement === 'overlay' && (
                <span className="waves-names">
                  {groups.map((other, i) => (
                    <button
                      key={other.reference?.key ?? other.other!.key}
                      type="button"
                      aria-pressed={i === chosen}
                      onClick={() => onChoose(i)}
                    >
                      {(other.reference ?? other.other)!.title}
                    </button>
                  ))}
                </span>
              )}
            </div>
          );
        }
        return (
          <div key={lane.key} className="waves-label">
            <button type="button" aria-pressed={index === chosen} onClick={() => onChoose(index)}>
              {one.title}
            </button>
            <span className="label">{machine.points.find(({ point }) => point === one.point)?.note}</span>
          </div>
        );
      })}
    </div>
  );
}

/** What the cursors read. */
function CursorTable({
  view,
  group,
  map,
}: {
  readonly view: WaveView;
  readonly group: Group | undefined;
  readonly map: { readonly offset: number; readonly rate: number };
}) {
  const [, turn] = useState(0);
  useEffect(() => {
    let frame = 0;
    let seen = view.cursors;
    const stop = view.onMove(() => {
      if (view.cursors === seen) return;
      seen = view.cursors;
      frame ||= requestAnimationFrame(() => {
        frame = 0;
        turn((n) => n + 1);
      });
    });
    return () => {
      cancelAnimationFrame(frame);
      stop();
    };
  }, [view]);
  const { a, b } = view.cursors;
  if (a === undefined && b === undefined) {
    return (
      <p className="label waves-hint">
        Press in the picture, or A and B, to set two cursors: what is measured is what lies between them.
      </p>
    );
  }
  const rows = [group?.reference, group?.other].flatMap((one) => (one?.pyramid ? [one] : []));
  const read = (one: Loaded, at: number | undefined): number =>
    at === undefined ? Number.NaN : valueAt(one.pyramid!.trace, one.second ? mapped(map, at) : at);
  const both = a !== undefined && b !== undefined;
  return (
    <table className="waves-cursors">
      <caption className="aside">Cursors</caption>
      <thead>
        <tr>
          <td />
          <th scope="col">A</th>
          <th scope="col">B</th>
          <th scope="col">B less A</th>
        </tr>
      </thead>
      <tbody>
        <tr>
          <th scope="row">time</th>
          <td>{a === undefined ? '· · ·' : instant(a)}</td>
          <td>{b === undefined ? '· · ·' : instant(b)}</td>
          <td>
            {both ? quantity(b - a, 's', 5, '+') : ''}
            {both && a !== b && <span className="label"> {quantity(1 / Math.abs(b - a), 'Hz', 4)}</span>}
          </td>
        </tr>
        {rows.map((one) => (
          <tr key={one.key}>
            <th scope="row">{one.owner}</th>
            <td>{quantity(read(one, a), one.unit, 4, '+')}</td>
            <td>{quantity(read(one, b), one.unit, 4, '+')}</td>
            <td>{both ? quantity(read(one, b) - read(one, a), one.unit, 4, '+') : ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What is seen, in a sentence for the ear. */
function pictureWords(lanes: readonly Lane[], { from, to }: Span): string {
  if (lanes.length === 0) return 'No trace yet';
  const count = lanes.reduce((sum, { traces, logic }) => sum + traces.length + logic.length, 0);
  const names = lanes
    .flatMap(({ traces, logic }) => [...traces, ...logic].map(({ name }) => name))
    .filter(Boolean);
  const parting = lanes.map(({ parts }) => parts).filter((at) => at !== undefined);
  const first = parting.length > 0 ? `; they first part at ${instant(Math.min(...parting))}` : '';
  return `${count} ${count === 1 ? 'trace' : 'traces'}${names.length > 0 ? ` of ${[...new Set(names)].join(', ')}` : ''} from ${instant(from)} to ${instant(to)}${first}`;
}
