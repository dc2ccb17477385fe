/** The view of one or two captures: lanes, cursors, measurements and differences, and the keys that move them. */

import { type ReactNode, useEffect, useMemo, useState, useSyncExternalStore } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { type Alignment, COMMON_TRIGGER, type NoAlignment } from '../../waveform/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { Link } from '../link.tsx';
import { CursorTable } from './cursor-table.tsx';
import { between as spanBetween } from './cursors.ts';
import { Differences } from './differences.tsx';
import { ExpectedTable } from './expected-table.tsx';
import { LaneLabels } from './lane-labels.tsx';
import {
  type Arrangement,
  finestStep,
  type Group,
  type Loaded,
  lanesOf,
  wholeOf,
  withExpected,
} from './lanes.ts';
import { LanesCanvas } from './lanes-canvas.tsx';
import { LayingChoice } from './laying-choice.tsx';
import { type Found, type Listed, listedOf } from './listed.ts';
import { Measurements } from './measurements.tsx';
import { Owner } from './owner.tsx';
import type { Lane } from './picture.ts';
import type { Reckoner } from './reckoner.ts';
import { alignmentWords, instant, noAlignmentWords } from './sentences.ts';
import { isHealthy, type Pair, triggered } from './sides.ts';
import type { Span } from './span.ts';
import { type ExpectedAnswer, useExpectedMap } from './use-expected.ts';
import type { Traces } from './use-traces.ts';
import { type Laying, type LoadedPair, useTwins } from './use-twins.ts';
import { viewKeys } from './view-keys.ts';
import { WaveView } from './wave-view.ts';
import { wavesPath } from './waves-path.ts';
import { WordsPanel } from './words-panel.tsx';
import type { Aligning } from './work.ts';

export interface Side {
  readonly entry: CaptureEntry;
  readonly traces: Traces;
  /** In place of the unit, where it is nobody's. */
  readonly words?: string;
}

/** What is expected, to be shown behind the traces. */
export interface Behind {
  readonly answer: ExpectedAnswer;
  readonly busy: boolean;
  /** The picture is in its seconds; else it is laid on the capture. */
  readonly fixed?: boolean;
}

const ARRANGEMENTS: readonly Arrangement[] = ['by point', 'overlay', 'stacked', 'difference'];
const NO_PAIRS: readonly LoadedPair[] = [];
const NO_LOADED: readonly Loaded[] = [];
const NOTHING_BEHIND: ExpectedAnswer['byPoint'] = new Map();

export function Waves({
  machine,
  reckoner,
  sides,
  pairs,
  heading,
  choices,
  cautions,
  expected,
}: {
  readonly machine: MachineView;
  readonly reckoner: Reckoner;
  /** The reference first, then what is held against it. */
  readonly sides: readonly Side[];
  readonly pairs: readonly Pair[];
  readonly heading: ReactNode;
  readonly choices: ReactNode;
  readonly cautions?: ReactNode;
  readonly expected?: Behind;
}) {
  const id = String(machine.id);
  const [view] = useState(() => new WaveView());
  const [arrangement, setArrangement] = useState<Arrangement>('by point');
  const [chosen, setChosen] = useState(0);
  const [laying, setLaying] = useState<Partial<Laying>>({});
  const [looked, setLooked] = useState(-1);
  const [found, setFound] = useState<Found>();
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
  const behind = expected?.answer.byPoint ?? NOTHING_BEHIND;
  const [under, setUnder] = useState<Aligning>('likeness');
  const laid = useExpectedMap(
    reckoner,
    expected?.fixed ? NOTHING_BEHIND : behind,
    sides[0]?.traces.loaded.length ? sides[0].traces.loaded : NO_LOADED,
    COMMON_TRIGGER,
    under,
  );
  const lanes = useMemo(
    () => withExpected(lanesOf(groups, arrangement, place, twins.map), groups, place, behind, laid.map),
    [groups, arrangement, place, twins.map, behind, laid.map],
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
  const listing = `${listed.length} ${listed[0]?.from} ${listed.at(-1)?.to}`;
  // biome-ignore lint/correctness/useExhaustiveDependencies: in another list nothing was looked at yet
  useEffect(() => setLooked(-1), [listing]);
  const move = (by: number): void => setChosen((place + by + groups.length) % Math.max(1, groups.length));

  useKeys({
    ...viewKeys(view),
    ArrowUp: groups.length > 1 ? () => move(-1) : undefined,
    ArrowDown: groups.length > 1 ? () => move(1) : undefined,
    d: ({ shiftKey }) => step(shiftKey ? -1 : 1),
  });

  const point = (group?.reference ?? group?.other)?.point ?? '';
  const expectedHere = behind.get(point);
  const rested = useSyncExternalStore(view.onRest, () => view.rested);
  const window = spanBetween(rested.cursors);
  const coming = sides.map(({ traces }) => traces.coming).find((one) => one !== undefined);
  const halt = (): void => {
    for (const { traces } of sides) traces.stop?.();
    twins.stop();
  };
  const problem = sides.map(({ traces }) => traces.problem).find((one) => one !== undefined) ?? twins.problem;
  const label = pictureWords(lanes, rested.span);
  return (
    <Frame
      title={`Waves of ${machine.name}`}
      machine={{ id, name: machine.name }}
      className="waves-frame"
      legend={sides.map(({ entry, words }) => (
        <span key={entry.id} className="waves-legend">
          <Line
            hollow={
              words === undefined &&
              (sides.length > 1 ? entry === sides[0]?.entry : isHealthy(machine, entry.unit))
            }
          />
          {words ?? <Owner machine={machine} unit={entry.unit} />}
        </span>
      ))}
      keys={[
        { caps: ['Left', 'Right'], does: 'along in time', foot: true },
        { caps: ['+', '−'], does: 'closer, wider', foot: true },
        { caps: ['A', 'B'], does: 'cursors', foot: true },
        ...(other
          ? [
              {
                caps: ['D'],
                does: 'to the first difference, then the next',
                foot: true,
                press: () => step(1),
              },
              { caps: ['Shift', 'D'], does: 'the difference before' },
            ]
          : []),
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
              {behind.size > 0 && !expected?.fixed && (
                <label>
                  <span className="label">Expected laid on by</span>
                  <select
                    className="choice"
                    value={under}
                    onChange={({ target }) => setUnder(target.value as Aligning)}
                  >
                    <option value="likeness">likeness</option>
                    <option value="edges">its edges</option>
                    <option value="trigger">the trigger</option>
                  </select>
                </label>
              )}
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
            {(coming || twins.busy) && (
              <button type="button" className="button plain" onClick={halt}>
                Stop
              </button>
            )}
          </div>
          {problem && (
            <p className="refusal" role="alert">
              {problem}
            </p>
          )}
          {expected && <BehindWords behind={expected} found={laid.found} />}
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
          {cautions}
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
          {!expected?.fixed && (
            <Measurements
              machine={machine}
              reckoner={reckoner}
              sides={sides}
              group={group}
              groups={groups}
              window={window}
              map={twins.map}
            />
          )}
          {expectedHere && <ExpectedTable reckoner={reckoner} expected={expectedHere} />}
          {!expected?.fixed && (
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
          )}
        </aside>
      </div>
    </Frame>
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
  const [behind] = lanes.flatMap(({ expected }) => (expected ? [expected.expected] : []));
  const expected = behind
    ? `; behind them what is expected of a sound unit${behind.fault ? `, and with ${behind.fault.part}, ${behind.fault.words}` : ''}`
    : '';
  return `${count} ${count === 1 ? 'trace' : 'traces'}${names.length > 0 ? ` of ${[...new Set(names)].join(', ')}` : ''} from ${instant(from)} to ${instant(to)}${first}${expected}`;
}

/** What is being computed, why there is nothing, and how it lies. */
function BehindWords({
  behind: { answer, busy },
  found,
}: {
  readonly behind: Behind;
  readonly found: Alignment | NoAlignment | undefined;
}) {
  const fault = answer.view?.fault;
  const severity = answer.view?.fault?.severity;
  const words = busy
    ? 'Computing what is expected'
    : answer.problem
      ? `Nothing to compare with: ${answer.problem}.`
      : [
          found === undefined
            ? ''
            : 'reason' in found
              ? `${noAlignmentWords(found)} What is expected lies by the trigger.`
              : `Expected: ${alignmentWords(found)}.`,
          severity ? `About ${severity} stands for this fault.` : '',
        ]
          .filter(Boolean)
          .join(' ');
  return (
    <div className="waves-behind">
      {answer.byPoint.size > 0 && <BehindLegend fault={fault?.part} />}
      <span className="label" role="status">
        {words}
      </span>
    </div>
  );
}

/** How what is expected is drawn. */
function BehindLegend({ fault }: { readonly fault: string | undefined }) {
  return (
    <>
      <span className="waves-legend">
        <svg width="32" height="14" viewBox="0 0 32 14" aria-hidden="true">
          <path d="M0 7h32" stroke="var(--ink)" strokeWidth="12" opacity="0.16" />
          <path d="M0 7h32" stroke="var(--ink2)" />
        </svg>
        sound units, nine in ten
      </span>
      {fault !== undefined && (
        <span className="waves-legend">
          <svg width="32" height="8" viewBox="0 0 32 8" aria-hidden="true">
            <path d="M0 4h32" stroke="var(--ink)" strokeWidth="2" strokeDasharray="8 5" />
          </svg>
          with {fault} failed so
        </span>
      )}
    </>
  );
}

/** A short line as the traces are drawn: hollow or solid. */
function Line({ hollow }: { readonly hollow: boolean }) {
  return (
    <svg width="32" height="8" viewBox="0 0 32 8" aria-hidden="true">
      <path d="M0 4h32" stroke="var(--ink)" strokeWidth={hollow ? 5 : 2.5} />
      {hollow && <path d="M0 4h32" stroke="var(--paper)" strokeWidth="2" />}
    </svg>
  );
}
