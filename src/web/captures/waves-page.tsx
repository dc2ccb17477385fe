/** A capture looked at: its traces, the twin's laid on them, what is measured, and where the two first differ. */

import { useEffect, useMemo, useState } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { shortDay } from '../dates.ts';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { useCaptures } from './captures-api.ts';
import { ExpectedChoice } from './expected-choice.tsx';
import { Owner } from './owner.tsx';
import { Reckoner } from './reckoner.ts';
import { isHealthy, offered, pairs, twinsOf } from './sides.ts';
import { useExpected } from './use-expected.ts';
import { useTraces } from './use-traces.ts';
import { type Side, Waves } from './waves.tsx';
import { wavesPath } from './waves-path.ts';
import './waves.css';

export default function WavesPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Waves">
      {(machine) => <Capture machine={machine} capture={Number(at.capture)} query={query} />}
    </WithMachine>
  );
}

function Capture({
  machine,
  capture,
  query,
}: {
  readonly machine: MachineView;
  readonly capture: number;
  readonly query: URLSearchParams;
}) {
  const id = String(machine.id);
  const { value: all, problem } = useCaptures(id);
  const entry = all?.find((one) => one.id === capture);
  if (all && entry) return <Looked machine={machine} entry={entry} all={all} query={query} />;
  return (
    <Frame title="Waves" machine={{ id, name: machine.name }}>
      <div className="page-body">
        {all ? (
          <h1>There is no such capture</h1>
        ) : (
          <p className="label">{problem?.message ?? 'Reading the captures'}</p>
        )}
        {all && (
          <p>
            <Link to={wavesPath(id)}>All captures</Link>
          </p>
        )}
      </div>
    </Frame>
  );
}

/** Channels that are shown at first. */
const FIRST_CHANNELS = 4;

function Looked({
  machine,
  entry,
  all,
  query,
}: {
  readonly machine: MachineView;
  readonly entry: CaptureEntry;
  readonly all: readonly CaptureEntry[];
  readonly query: URLSearchParams;
}) {
  const id = String(machine.id);
  const [reckoner] = useState(() => new Reckoner());
  useEffect(() => () => reckoner.end(), [reckoner]);
  const candidates = twinsOf(entry, all, machine);
  const asked = query.get('with');
  const twin =
    asked === null ? offered(entry, all, machine) : candidates.find((one) => String(one.id) === asked);
  // The healthy unit is what the other is held against; without one, it is what lies beside.
  const turned = twin !== undefined && (isHealthy(machine, twin.unit) || !isHealthy(machine, entry.unit));
  const [reference, other] = turned ? [twin, entry] : twin ? [entry, twin] : [entry, undefined];
  const joined = useMemo(() => (other ? pairs(reference, other) : []), [reference, other]);
  const shown = channelsShown(entry, query.get('channels'));
  const mine = turned
    ? joined.filter((pair) => shown.includes(pair.other))
    : joined.filter((pair) => shown.includes(pair.reference));
  const referenceChannels = turned ? mine.map((pair) => pair.reference) : shown;
  const otherChannels = turned ? shown : mine.map((pair) => pair.other);
  const single = twin === undefined;
  const hollow = (one: CaptureEntry | undefined, first: boolean): boolean =>
    one !== undefined && (single ? isHealthy(machine, one.unit) : first);
  const first = useTraces(reckoner, id, reference, referenceChannels, {
    second: false,
    hollow: hollow(reference, true),
  });
  const second = useTraces(reckoner, id, other, otherChannels, { second: true, hollow: false });
  const fault = query.get('fault') ?? '';
  const runs = machine.states.some(({ name, runs }) => runs && name === reference.state);
  const points = runs ? computed(machine, reference) : [];
  const answer = useExpected(
    machine,
    points.length > 0 ? { state: reference.state, points, fault } : undefined,
  );
  // The waveforms of a sound unit stay while those under another fault are computed.
  const [last, setLast] = useState(answer);
  if (last.byPoint !== answer.byPoint && !answer.busy) setLast(answer);
  const expected = answer.busy && last.view?.state === reference.state ? last : answer;
  const to = (change: {
    readonly with?: string;
    readonly channels?: string;
    readonly fault?: string;
  }): void => {
    const now = {
      with: asked ?? undefined,
      channels: query.get('channels') ?? undefined,
      fault: fault || undefined,
      ...change,
    };
    go(address(wavesPath(id, entry.id), now), { replace: true });
  };
  const sides: readonly Side[] = [
    { entry: reference, traces: first },
    ...(other ? [{ entry: other, traces: second }] : []),
  ];
  return (
    <Waves
      machine={machine}
      reckoner={reckoner}
      sides={sides}
      pairs={mine}
      {...(points.length > 0 ? { expected: { answer: expected, busy: answer.busy } } : {})}
      heading={<Heading machine={machine} entry={entry} />}
      choices={
        <>
          <label>
            <span className="label">Beside it</span>
            <select
              className="choice"
              value={twin ? String(twin.id) : 'none'}
              onChange={({ target }) => to({ with: target.value })}
            >
              <option value="none">nothing</option>
              {candidates.map((one) => (
                <option key={one.id} value={String(one.id)}>
                  {candidateWords(one, entry)}
                </option>
              ))}
            </select>
          </label>
          {points.length > 0 && (
            <ExpectedChoice
              machine={id}
              unit={isHealthy(machine, entry.unit) ? (twin?.unit ?? '') : entry.unit}
              fault={fault}
              onFault={(next) => to({ fault: next })}
            />
          )}
          {entry.channels.length > 1 && (
            <fieldset className="waves-channels">
              <legend className="label">Channels</legend>
              {entry.channels.map((channel) => (
                <label key={channel.index}>
                  <input
                    type="checkbox"
                    checked={shown.includes(channel.index)}
                    disabled={shown.length === 1 && shown.includes(channel.index)}
                    onChange={({ target }) => {
                      const next = target.checked
                        ? [...shown, channel.index].sort((a, b) => a - b)
                        : shown.filter((index) => index !== channel.index);
                      to({ channels: next.join(' ') });
                    }}
                  />
                  {channel.point || channel.name || `channel ${channel.index + 1}`}
                </label>
              ))}
            </fieldset>
          )}
        </>
      }
    />
  );
}

/** Points of a capture whose board is traced: only of these anything can be computed. */
function computed({ points, boards }: MachineView, { channels }: CaptureEntry): readonly string[] {
  const traced = (name: string): boolean => boards.find((board) => board.name === name)?.traced ?? false;
  return channels.flatMap(({ point }) => {
    const known = points.find((one) => one.point === point);
    return known && traced(known.board) ? [point] : [];
  });
}

function channelsShown({ channels }: CaptureEntry, asked: string | null): number[] {
  const known = channels.map(({ index }) => index);
  const wanted = (asked ?? '')
    .split(' ')
    .filter(Boolean)
    .map(Number)
    .filter((index) => known.includes(index));
  if (wanted.length > 0) return wanted;
  const pointed = channels.filter(({ point }) => point !== '').map(({ index }) => index);
  return (pointed.length > 0 ? pointed : known).slice(0, FIRST_CHANNELS);
}

function Heading({ machine, entry }: { readonly machine: MachineView; readonly entry: CaptureEntry }) {
  const points = entry.channels.map(({ point }) => point).filter(Boolean);
  const notes = points.flatMap((point) => machine.points.find((one) => one.point === point)?.note || []);
  return (
    <div className="waves-heading">
      <h1>{points.length > 0 && points.length <= 3 ? points.join(', ') : entry.file}</h1>
      <p className="waves-about">
        <Owner machine={machine} unit={entry.unit} /> {entry.state && <b>{entry.state}</b>}{' '}
        <span className="label">
          {[
            points.length === 1 ? notes[0] : undefined,
            entry.takenAt && shortDay(entry.takenAt),
            entry.instrument,
            points.length > 0 ? entry.file : '',
          ]
            .filter(Boolean)
            .join(', ')}
        </span>
      </p>
      {entry.note && <p className="prose">{entry.note}</p>}
    </div>
  );
}

function candidateWords(one: CaptureEntry, entry: CaptureEntry): string {
  const what = one.channels.map(({ point, name }) => point || name).filter(Boolean);
  const words = [
    one.unit || 'no unit',
    one.state === entry.state ? '' : one.state,
    what.slice(0, 3).join(', '),
    one.takenAt && shortDay(one.takenAt),
  ];
  return words.filter(Boolean).join(' · ');
}
