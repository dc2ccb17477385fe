/** All captures of a machine, and the way in for new ones. */

import { type DragEvent, useCallback, useEffect, useRef, useState } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { AT_THE_MACHINE } from '../cautions.ts';
import { shortDay, today } from '../dates.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { Link } from '../link.tsx';
import { CautionPlate } from '../marks.tsx';
import { address } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { type Facts, removeCapture, useCaptures } from './captures-api.ts';
import { FactsDialog } from './facts-dialog.tsx';
import { ImportDialog, instrumentsOf } from './import-dialog.tsx';
import { Owner } from './owner.tsx';
import { quantity } from './scale.ts';
import { expectedPath, wavesPath } from './waves-path.ts';
import './waves.css';

export default function CapturesPage({ at }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Waves">
      {(machine) => <Captures machine={machine} />}
    </WithMachine>
  );
}

/** What was said last of a capture of a machine, and of its channels by their names, holds for the next until it is changed. */
interface Last {
  readonly facts: Facts;
  readonly points: ReadonlyMap<string, string>;
}
const LAST = new Map<number, Last>();

function lastOf(entry: CaptureEntry): Last {
  const { unit, state, takenAt, instrument, note } = entry;
  const points = new Map(entry.channels.map(({ name, point }) => [name, point]));
  return { facts: { unit, state, takenAt, instrument, note }, points };
}

function Captures({ machine }: { readonly machine: MachineView }) {
  const id = String(machine.id);
  const { value: all, problem } = useCaptures(id);
  const [queue, setQueue] = useState<readonly File[]>([]);
  const [told, setTold] = useState<CaptureEntry>();
  const [said, say] = useState('');
  const input = useRef<HTMLInputElement>(null);
  const add = useCallback((files: Iterable<File>): void => {
    // At once: the list of a field is emptied when the field is.
    const list = [...files];
    setQueue((before) => [...before, ...list]);
  }, []);
  const [file] = queue;
  const pick = (): void => input.current?.click();
  useKeys({ i: pick }, file === undefined);
  useEffect(() => {
    const paste = (event: ClipboardEvent): void => {
      if (event.clipboardData && event.clipboardData.files.length > 0) add(event.clipboardData.files);
    };
    window.addEventListener('paste', paste);
    return () => window.removeEventListener('paste', paste);
  }, [add]);
  const drop = (event: DragEvent): void => {
    event.preventDefault();
    add(event.dataTransfer.files);
  };
  const instruments = instrumentsOf(all ?? []);
  const [newest] = all ?? [];
  const last = LAST.get(machine.id) ?? (newest && lastOf(newest));
  return (
    <Frame
      title={`Waves of ${machine.name}`}
      machine={{ id, name: machine.name }}
      keys={[{ caps: ['I'], does: 'bring in captures', foot: true, press: pick }]}
    >
      {/* biome-ignore lint/a11y/noStaticElementInteractions: dropping is a short way; the button does the same */}
      <div className="page-body waves-kept" onDrop={drop} onDragOver={(event) => event.preventDefault()}>
        <div className="waves-title">
          <h1>Waves</h1>
          <button type="button" className="button main" onClick={pick}>
            Bring in captures
          </button>
          <input
            ref={input}
            type="file"
            hidden
            multiple
            aria-label="Files of captures"
            onChange={({ target }) => {
              add(target.files ?? []);
              target.value = '';
            }}
          />
        </div>
        {(problem || said) && (
          <p className={problem ? 'refusal' : ''} role="status">
            {problem?.message ?? said}
          </p>
        )}
        {all?.length === 0 && (
          <p className="prose">
            Nothing is captured yet. Bring in what an oscilloscope, a sound card or a logic analyser has
            written: tables in text (CSV, TSV), WAV, or value changes (VCD). Choose the files, drop them here,
            or paste them. Start with the healthy unit and take the same points of the faulty one in the same
            state.
          </p>
        )}
        {all && all.length > 0 && (
          <ul className="waves-captures">
            {all.map((entry) => (
              <li key={entry.id}>
                <Kept
                  machine={machine}
                  entry={entry}
                  onTell={() => setTold(entry)}
                  onRemove={async () => {
                    const refused = await removeCapture(machine.id, entry);
                    say(
                      refused
                        ? `Not removed: ${refused.message}`
                        : `Removed ${entry.file}. Undo brings it back.`,
                    );
                  }}
                />
              </li>
            ))}
          </ul>
        )}
        <ExpectedStates machine={machine} />
        <CautionPlate text={AT_THE_MACHINE} />
      </div>
      {file && (
        <ImportDialog
          key={`${file.name} ${file.lastModified} ${queue.length}`}
          machine={machine}
          file={file}
          left={queue.length - 1}
          facts={{
            ...(last?.facts ?? usual(machine)),
            takenAt: today(new Date(file.lastModified)),
            note: '',
          }}
          pointsByName={last?.points}
          instruments={instruments}
          onTaken={(entry, facts) => {
            LAST.set(machine.id, { ...lastOf(entry), facts });
            const notes = entry.findings.map(({ message }) => message);
            say(`Kept ${entry.file}${notes.length > 0 ? `: ${notes.join('; ')}` : ''}`);
            setQueue((before) => before.slice(1));
            // What a table said of its channels was asked already.
            if (entry.kind !== 'text' && queue.length === 1) setTold(entry);
          }}
          onClose={() => setQueue((before) => before.slice(1))}
        />
      )}
      {told && !file && (
        <FactsDialog
          machine={machine}
          entry={told}
          instruments={instruments}
          onClose={() => setTold(undefined)}
        />
      )}
    </Frame>
  );
}

/** The way to what is to be seen before a probe goes in. */
function ExpectedStates({ machine }: { readonly machine: MachineView }) {
  const running = machine.states.filter(({ runs }) => runs);
  if (running.length === 0) return null;
  return (
    <section className="waves-expected">
      <h2>Expected in a running state</h2>
      <ul>
        {running.map(({ name }) => (
          <li key={name}>
            <Link to={address(expectedPath(String(machine.id)), { state: name })}>{name}</Link>
          </li>
        ))}
      </ul>
    </section>
  );
}

function usual({ units, states }: MachineView): Facts {
  return { unit: units[0]?.id ?? '', state: states[0]?.name ?? '', takenAt: '', instrument: '', note: '' };
}

/** Channels that are named in a row. */
const NAMED = 6;

function Kept({
  machine,
  entry,
  onTell,
  onRemove,
}: {
  readonly machine: MachineView;
  readonly entry: CaptureEntry;
  readonly onTell: () => void;
  readonly onRemove: () => void;
}) {
  const { channels, unit, state, takenAt, instrument, file, note } = entry;
  const samples = Math.max(0, ...channels.map((channel) => channel.samples));
  const length = Math.max(0, ...channels.map(({ start, end }) => end - start));
  const names = channels
    .slice(0, NAMED)
    .map(({ point, name, index }) => point || name || `channel ${index + 1}`);
  return (
    <>
      <Link to={wavesPath(String(machine.id), entry.id)} className="waves-open">
        <b>{names.join(', ')}</b>
        {channels.length > NAMED && ` and ${channels.length - NAMED} more`}
      </Link>
      <span className="waves-of">
        <Owner machine={machine} unit={unit} />
        <span>{state || <span className="label">no state</span>}</span>
      </span>
      <span className="label waves-from">
        {[
          takenAt && shortDay(takenAt),
          instrument,
          file,
          `${count(samples)} samples, ${quantity(length, 's', 3)}`,
          note,
        ]
          .filter(Boolean)
          .join(' · ')}
      </span>
      <span className="waves-does">
        <button
          type="button"
          className="button plain"
          onClick={onTell}
          aria-label={`Change what is known of ${file}`}
        >
          Change
        </button>
        <button type="button" className="button plain" onClick={onRemove} aria-label={`Remove ${file}`}>
          Remove
        </button>
      </span>
    </>
  );
}

function count(samples: number): string {
  return samples >= 1e6 ? `${Number((samples / 1e6).toPrecision(3))} million` : String(samples);
}
