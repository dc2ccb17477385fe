/** What is to be seen in a running state before a probe goes in: predicted waveforms of chosen points. */

import { useEffect, useMemo, useState } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { Pyramid } from '../../waveform/index.ts';
import { AT_THE_MACHINE } from '../cautions.ts';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { CautionPlate } from '../marks.tsx';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { type Expected, traceOf } from './expected.ts';
import { ExpectedChoice } from './expected-choice.tsx';
import type { Loaded } from './lanes.ts';
import { Reckoner } from './reckoner.ts';
import { useExpected } from './use-expected.ts';
import { Waves } from './waves.tsx';
import { expectedPath, wavesPath } from './waves-path.ts';
import './waves.css';

/** Points that are shown at first, and turns of what repeats. */
const FIRST_POINTS = 4;
const TURNS = 3;

export default function ExpectedPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Waves">
      {(machine) => <State machine={machine} query={query} />}
    </WithMachine>
  );
}

function State({ machine, query }: { readonly machine: MachineView; readonly query: URLSearchParams }) {
  const id = String(machine.id);
  const running = machine.states.filter(({ runs }) => runs);
  const asked = query.get('state');
  const state = running.find(({ name }) => name === asked) ?? running[0];
  const fault = query.get('fault') ?? '';
  const [reckoner] = useState(() => new Reckoner());
  useEffect(() => () => reckoner.end(), [reckoner]);
  const answer = useExpected(machine, state && { state: state.name, points: [], fault });
  // What is on its way must not empty the picture.
  const [last, setLast] = useState(answer);
  if (last !== answer && last.byPoint !== answer.byPoint && !answer.busy) setLast(answer);
  const shownAnswer = answer.busy && last.view?.state === state?.name ? last : answer;
  const points = [...shownAnswer.byPoint.keys()];
  const wanted = (query.get('points') ?? '').split(' ').filter((point) => points.includes(point));
  const shown = wanted.length > 0 ? wanted : points.slice(0, FIRST_POINTS);
  const to = (change: Readonly<Record<string, string>>): void => {
    const now = {
      state: state?.name,
      points: wanted.join(' ') || undefined,
      fault: fault || undefined,
      ...change,
    };
    go(address(expectedPath(id), now), { replace: true });
  };
  const key = shown.join(' ');
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says which points
  const loaded = useMemo(
    () => shown.map((point) => drawn(shownAnswer.byPoint.get(point)!, reckoner)),
    [shownAnswer.byPoint, key, reckoner],
  );
  // Of a board all points have the same one.
  const cautions = new Map<string, string[]>();
  for (const point of shown) {
    const caution = shownAnswer.byPoint.get(point)?.caution;
    if (caution) cautions.set(caution, [...(cautions.get(caution) ?? []), point]);
  }
  const entry = useMemo(() => entryOf(state?.name ?? '', loaded), [state?.name, loaded]);
  if (!state) {
    return (
      <Frame title="Waves" machine={{ id, name: machine.name }}>
        <div className="page-body">
          <h1>No state of this machine runs</h1>
          <p className="prose">
            A state runs where a drive moves: give it a wave in the sheet of states, and what is to be seen is
            computed.
          </p>
          <p>
            <Link to={wavesPath(id)}>All captures</Link>
          </p>
        </div>
      </Frame>
    );
  }
  const add = points.filter((point) => !shown.includes(point));
  const note = (point: string): string => {
    const text = machine.points.find((one) => one.point === point)?.note ?? '';
    return text ? `${point}, ${text}` : point;
  };
  return (
    <Waves
      machine={machine}
      reckoner={reckoner}
      sides={[{ entry, traces: { loaded }, words: 'a sound unit, computed' }]}
      pairs={[]}
      expected={{ answer: shownAnswer, busy: answer.busy, fixed: true }}
      heading={
        <div className="waves-heading">
          <h1>Expected in {state.name}</h1>
          {state.steps && <p className="prose">{state.steps}</p>}
        </div>
      }
      cautions={
        <>
          {[...cautions].map(([text, of]) => (
            <CautionPlate key={text} text={`${of.join(', ')}: ${text}`} />
          ))}
          <CautionPlate text={AT_THE_MACHINE} />
        </>
      }
      choices={
        <>
          <label>
            <span className="label">Running state</span>
            <select
              className="choice"
              value={state.name}
              onChange={({ target }) => to({ state: target.value, points: '' })}
            >
              {running.map(({ name }) => (
                <option key={name}>{name}</option>
              ))}
            </select>
          </label>
          <label>
            <span className="label">Another point</span>
            <select
              className="choice"
              value=""
              disabled={add.length === 0}
              onChange={({ target }) => to({ points: [...shown, target.value].join(' ') })}
            >
              <option value="">choose</option>
              {add.map((point) => (
                <option key={point} value={point}>
                  {note(point)}
                </option>
              ))}
            </select>
          </label>
          <ExpectedChoice
            machine={id}
            unit={suspectUnit(machine)}
            fault={fault}
            onFault={(next) => to({ fault: next })}
          />
          {shown.length > 0 && (
            <fieldset className="waves-channels">
              <legend className="label">Points</legend>
              {shown.map((point) => (
                <label key={point}>
                  <input
                    type="checkbox"
                    checked
                    disabled={shown.length === 1}
                    onChange={() => to({ points: shown.filter((one) => one !== point).join(' ') })}
                  />
                  {point}
                </label>
              ))}
            </fieldset>
          )}
        </>
      }
    />
  );
}

/** The faulty unit, where there is one: its suspects are offered. */
function suspectUnit({ units }: MachineView): string {
  return units.find(({ health }) => health === 'faulty')?.id ?? '';
}

let kept = 0;

function drawn({ point, sound, volts }: Expected, reckoner: Reckoner): Loaded {
  const trace = traceOf(sound, volts, point, TURNS);
  const key = `expected/${point}/${kept++}`;
  reckoner.keep(key, trace);
  const { stamps } = trace.timebase as { readonly stamps: Float64Array };
  return {
    ...{ key, title: point, point, unit: 'V', owner: '', hollow: false, second: false },
    low: Math.min(...volts),
    high: Math.max(...volts),
    extent: { from: stamps[0] ?? 0, to: stamps.at(-1) ?? 0 },
    pyramid: new Pyramid(trace),
  };
}

/** As if it were a capture, for the view: of nobody's unit, so that nothing of it can be taken as a reading. */
function entryOf(state: string, loaded: readonly Loaded[]): CaptureEntry {
  const nobody = { id: 0, version: 0, file: '', size: 0, unit: '', takenAt: '', instrument: '', note: '' };
  const channels = loaded.map(({ point, low, high, extent, pyramid }, index) => ({
    ...{ index, name: point, point, unit: 'V', kind: 'trace' as const, step: null, min: low, max: high },
    ...{ width: 0, samples: pyramid?.trace.values.length ?? 0, start: extent.from, end: extent.to },
  }));
  return { ...nobody, kind: 'text', state, channels };
}
