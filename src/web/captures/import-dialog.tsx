/** A file before it is kept: what was understood, all of it to be corrected; then how much of it has gone in. */

import { type FormEvent, useEffect, useRef, useState } from 'react';
import type {
  CaptureEntry,
  FindingView,
  MachineView,
  TakenCapture,
  UnderstoodView,
} from '../../server/index.ts';
import { Dialog } from '../dialog.tsx';
import type { Problem } from '../live.ts';
import { brought, type Facts, type Form, understood } from './captures-api.ts';
import { ColumnsTable } from './columns-table.tsx';
import { checked, type Draft, draftOf, needsInterval, numberOf } from './draft.ts';
import { FactsFields } from './facts-fields.tsx';

const SEPARATORS = [
  [',', 'comma'],
  [';', 'semicolon'],
  ['\t', 'tab'],
  [' ', 'blanks'],
] as const;
const KINDS: Readonly<Record<UnderstoodView['kind'], string>> = {
  text: 'A table in text',
  wav: 'A sound file',
  vcd: 'Value changes of logic signals',
  unknown: 'Not known',
};

export function ImportDialog({
  machine,
  file,
  left,
  facts: first,
  pointsByName,
  instruments,
  onTaken,
  onClose,
}: {
  readonly machine: MachineView;
  readonly file: File;
  /** Files that come after this one. */
  readonly left: number;
  readonly facts: Facts;
  /** Points of the last capture, by the names of its channels. */
  readonly pointsByName: ReadonlyMap<string, string> | undefined;
  readonly instruments: readonly string[];
  readonly onTaken: (entry: TakenCapture, facts: Facts) => void;
  readonly onClose: () => void;
}) {
  const id = String(machine.id);
  const [facts, setFacts] = useState(first);
  const [form, setForm] = useState<Form>({});
  const [seen, setSeen] = useState<UnderstoodView>();
  const [draft, setDraft] = useState<Draft>();
  const [fullScale, setFullScale] = useState('');
  const [problem, setProblem] = useState<Problem>();
  const [gone, setGone] = useState<number>();
  const [tried, setTried] = useState(false);
  const stop = useRef(new AbortController());
  const known = new Set(machine.points.map(({ point }) => point));

  // biome-ignore lint/correctness/useExhaustiveDependencies: asked anew for another form; what was corrected below does not matter
  useEffect(() => {
    let old = false;
    void understood(id, file, file.name, form, facts.instrument).then((outcome) => {
      if (old) return;
      if (!outcome.ok) {
        setProblem(outcome.problem);
        return;
      }
      setProblem(undefined);
      setSeen(outcome.value);
      const { understanding, fullScale: kept } = outcome.value;
      setDraft((before) => {
        if (!understanding) return undefined;
        const typed = before?.columns.map(({ point }) => point);
        const points = typed ?? understanding.columns.map(({ name }) => pointsByName?.get(name) ?? '');
        const fresh = draftOf(understanding, points);
        // What only a person knows stays as it was typed.
        const asked = before && understanding.interval === undefined;
        return asked ? { ...fresh, interval: before.interval, start: before.start } : fresh;
      });
      if (typeof kept === 'number') setFullScale(String(kept));
    });
    return () => {
      old = true;
    };
  }, [id, file, form]);
  useEffect(() => () => stop.current.abort(), []);

  const understanding = seen?.understanding ?? undefined;
  const result = draft && understanding ? checked(draft, understanding, known) : undefined;
  const refused = seen !== undefined && (seen.kind === 'unknown' || (seen.kind === 'text' && !understanding));
  const scale = fullScale.trim() === '' ? undefined : numberOf(fullScale);
  const scaleFault = scale !== undefined && !(scale > 0);

  const keep = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    setTried(true);
    if (gone !== undefined || !seen || refused || scaleFault) return;
    if (seen.kind === 'text' && !result?.understanding) return;
    setGone(0);
    setProblem(undefined);
    stop.current = new AbortController();
    const about = {
      file: file.name,
      ...facts,
      ...(result?.understanding ? { understanding: result.understanding, points: result.points } : {}),
      ...(seen.kind === 'wav' && scale !== undefined ? { fullScale: scale } : {}),
    };
    const outcome = await brought(machine.id, file, about, setGone, stop.current.signal);
    setGone(undefined);
    if (outcome?.ok) onTaken(outcome.value, facts);
    else if (outcome) setProblem(outcome.problem);
  };

  return (
    <Dialog title={`Bring in ${file.name}`} className="waves-import" onClose={onClose}>
      <form onSubmit={keep}>
        <p className="label">
          {seen ? KINDS[seen.kind] : 'Looking at the file'}, {size(file.size)}
          {left > 0 && `; ${left} more after it`}
        </p>
        {seen?.remembered && <p>Read as it was corrected before for this instrument.</p>}
        {understanding && understanding.doubts.length > 0 && (
          <ul className="waves-doubts" aria-label="Not certain">
            {understanding.doubts.map((doubt) => (
              <li key={doubt}>{doubt}</li>
            ))}
          </ul>
        )}
        {seen && <Findings findings={seen.findings} />}
        {draft && result && understanding && seen && (
          <>
            <div className="waves-form">
              <label>
                <span className="label">Cells are parted by</span>
                <select
                  className="choice"
                  value={understanding.separator}
                  onChange={({ target }) => setForm({ ...form, separator: target.value as ',' })}
                >
                  {SEPARATORS.map(([sign, words]) => (
                    <option key={words} value={sign}>
                      {words}
                    </option>
                  ))}
                </select>
              </label>
              <label>
                <span className="label">Decimal sign</span>
                <select
                  className="choice"
                  value={understanding.decimal}
                  onChange={({ target }) => setForm({ ...form, decimal: target.value as '.' })}
                >
                  <option value=".">point</option>
                  <option value=",">comma</option>
                </select>
              </label>
              <NumberField
                label="Lines of heading"
                value={draft.headerLines}
                fault={result.faults.get('headerLines')}
                onChange={(headerLines) => setDraft({ ...draft, headerLines })}
              />
              {needsInterval(draft) && (
                <>
                  <NumberField
                    label="Seconds a sample"
                    value={draft.interval}
                    fault={draft.interval === '' && !tried ? undefined : result.faults.get('interval')}
                    onChange={(interval) => setDraft({ ...draft, interval })}
                  />
                  <NumberField
                    label="First sample at, seconds"
                    value={draft.start}
                    fault={result.faults.get('start')}
                    onChange={(start) => setDraft({ ...draft, start })}
                  />
                </>
              )}
            </div>
            <ColumnsTable
              machine={machine}
              draft={draft}
              checked={result}
              rows={seen.rows}
              onChange={(i, change) =>
                setDraft({
                  ...draft,
                  columns: draft.columns.map((column, k) => (k === i ? { ...column, ...change } : column)),
                })
              }
            />
            {result.others.map((fault) => (
              <p key={fault} className="refusal">
                {fault}
              </p>
            ))}
          </>
        )}
        {seen?.kind === 'wav' && (
          <NumberField
            label="Volts at full scale"
            value={fullScale}
            fault={scaleFault ? 'a number above 0, or nothing' : undefined}
            onChange={setFullScale}
          />
        )}
        {!refused && (
          <FactsFields
            machine={machine}
            facts={facts}
            instruments={instruments}
            onChange={(change) => setFacts({ ...facts, ...change })}
          />
        )}
        {problem && (
          <div role="alert">
            <p className="refusal">Nothing was kept: {problem.message}</p>
            <Findings findings={problem.findings ?? []} />
          </div>
        )}
        <div className="waves-end">
          {!refused && (
            <button type="submit" className="button main" aria-disabled={gone !== undefined || !seen}>
              Bring it in
            </button>
          )}
          <button
            type="button"
            className="button"
            aria-disabled={gone === 1}
            onClick={() => {
              if (gone === undefined) onClose();
              // Once all of it is there it is kept in a moment, and Undo is the way back.
              else if (gone < 1) stop.current.abort();
            }}
          >
            {gone === undefined ? 'Leave it' : 'Stop'}
          </button>
          {gone !== undefined && (
            <label className="waves-progress">
              <progress max={1} value={gone} />
              <span>{gone < 1 ? `${Math.floor(100 * gone)} % has gone in` : 'Reading the last of it'}</span>
            </label>
          )}
        </div>
      </form>
    </Dialog>
  );
}

function NumberField({
  label,
  value,
  fault,
  onChange,
}: {
  readonly label: string;
  readonly value: string;
  readonly fault: string | undefined;
  readonly onChange: (text: string) => void;
}) {
  return (
    <label>
      <span className="label">{label}</span>
      <input
        className="choice"
        value={value}
        aria-invalid={fault !== undefined}
        onChange={({ target }) => onChange(target.value)}
      />
      {fault && <span className="waves-fault">{fault}</span>}
    </label>
  );
}

/** What is wrong with the file, each with its line. */
function Findings({ findings }: { readonly findings: readonly FindingView[] }) {
  if (findings.length === 0) return null;
  return (
    <ul className="waves-findings">
      {findings.map(({ line, message, severity }) => (
        <li key={`${line} ${message}`}>
          <b>{severity === 'error' ? 'Not readable' : 'Note'}</b>
          {line !== null && ` in line ${line}`}: {message}
        </li>
      ))}
    </ul>
  );
}

function size(bytes: number): string {
  if (bytes < 1000) return `${bytes} bytes`;
  return bytes < 1e6 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

/** Instruments of captures that are kept, for a field that completes them. */
export function instrumentsOf(all: readonly CaptureEntry[]): string[] {
  return [...new Set(all.map(({ instrument }) => instrument).filter(Boolean))];
}
