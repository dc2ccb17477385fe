/** The form of one entry, in a dialog: a new one, or one that corrects another and leaves it on record. */

import { type FormEvent, useId, useState } from 'react';
import type { LogEntryView, MachineView } from '../../server/index.ts';
import { CHANGING_PARTS, ONLY_ADVICE } from '../cautions.ts';
import { today } from '../dates.ts';
import { Dialog } from '../dialog.tsx';
import { api, outdateMachine, told, useLive } from '../live.ts';
import { CautionPlate } from '../marks.tsx';
import { percent } from '../strip/index.ts';
import { KINDS } from './entry-list.tsx';
import { namesIn, partAndMode, suspectsIn, unknown } from './entry-text.ts';

/** What a new entry starts from. */
export interface Draft {
  readonly unit?: string;
  readonly kind?: Kind;
  /** The entry that the new one is to supersede. */
  readonly corrects?: LogEntryView;
}
type Kind = (typeof KINDS)[number];

const WORDS: Readonly<Record<Kind, string>> = {
  symptom: 'What the unit does, and what it should do. This opens a repair.',
  finding: 'What a reading, a look or a second kind of evidence has shown.',
  replaced: 'What was taken out, what was put in, and where the old part is kept.',
  proof: 'What shows that the unit is sound again. This closes the repair.',
  note: 'Anything else worth knowing in ten years.',
};
/** Suspects that can be ticked; any other is written. */
const TICKS = 5;

export function EntryDialog({
  machine,
  draft: { corrects, ...draft },
  onClose,
}: {
  readonly machine: MachineView;
  readonly draft: Draft;
  readonly onClose: () => void;
}) {
  const id = String(machine.id);
  const ids = useId();
  const [unit, setUnit] = useState(corrects?.unit ?? draft.unit ?? usualUnit(machine));
  const [kind, setKind] = useState<Kind>((corrects?.kind as Kind | undefined) ?? draft.kind ?? 'symptom');
  const [date, setDate] = useState((corrects?.date ?? today()).slice(0, 10));
  const [text, setText] = useState(corrects?.text ?? '');
  const [points, setPoints] = useState(corrects?.points.join(' ') ?? '');
  const [ticked, setTicked] = useState<readonly string[]>([]);
  const [other, setOther] = useState(corrects?.suspects.join(' ') ?? '');
  const [wrong, setWrong] = useState('');
  const asks = kind === 'finding' || kind === 'replaced';
  const ranking = useLive(
    api.machines[':id'].suspects,
    asks ? { param: { id }, query: { unit } } : undefined,
  ).value;
  const suspects = ranking?.suspects ?? [];
  const named = asks ? suspectsIn([...ticked, other]) : namesIn(other);

  const keep = async (event: FormEvent) => {
    event.preventDefault();
    const at = namesIn(points);
    const astray = unknown(
      at,
      machine.points.flatMap(({ point, net }) => [point, net]),
    );
    if (text.trim() === '') return setWrong('Say in words what there is to keep.');
    if (astray.length > 0) return setWrong(`There is no point ${astray.join(', ')} on this machine.`);
    if (kind === 'replaced' && named.length === 0) return setWrong('Say which part was replaced.');
    const json = {
      unit,
      kind,
      // Of today the moment counts: readings before it and after it are apart.
      date: moment(date, corrects?.date),
      text: text.trim(),
      points: at,
      suspects: named,
      ...(corrects?.note ? { note: corrects.note } : {}),
    };
    const { log } = api.machines[':id'];
    const outcome = corrects
      ? await told(log[':entry'].supersede.$post({ param: { id, entry: corrects.id }, json }))
      : await told(log.$post({ param: { id }, json }));
    if (!outcome.ok) return setWrong(`Not kept: ${outcome.problem.message}`);
    outdateMachine(machine.id);
    return onClose();
  };

  return (
    <Dialog
      title={corrects ? 'Correct an entry' : 'Write an entry'}
      className="entry-dialog"
      onClose={onClose}
    >
      <form onSubmit={keep}>
        {corrects && (
          <p className="label">The entry as it was stays on record, behind the one that takes its place.</p>
        )}
        <fieldset className="kinds">
          <legend className="label">Kind</legend>
          {KINDS.map((one) => (
            <label key={one}>
              <input type="radio" name={`${ids}kind`} checked={one === kind} onChange={() => setKind(one)} />
              {one}
            </label>
          ))}
        </fieldset>
        {kind === 'replaced' && <CautionPlate text={replacing(machine, named)} />}
        <div className="entry-row">
          <label>
            <span className="label">Unit</span>
            <select className="choice" value={unit} onChange={(event) => setUnit(event.target.value)}>
              {machine.units.map((one) => (
                <option key={one.id}>{one.id}</option>
              ))}
            </select>
          </label>
          <label>
            <span className="label">Date</span>
            <input
              className="choice"
              type="date"
              value={date}
              onChange={(event) => setDate(event.target.value)}
            />
          </label>
        </div>
        <label>
          <span className="label">{WORDS[kind]}</span>
          <textarea
            className="choice"
            rows={3}
            value={text}
            onChange={(event) => setText(event.target.value)}
          />
        </label>
        {asks && suspects.length > 0 && (
          <fieldset className="ticks">
            <legend className="label">
              {kind === 'replaced' ? 'Which suspect it was' : 'Suspects this is about'}
            </legend>
            {suspects.slice(0, TICKS).map((one) => (
              <label key={one.key}>
                <input
                  type="checkbox"
                  checked={ticked.includes(one.key)}
                  onChange={(event) =>
                    setTicked(
                      event.target.checked ? [...ticked, one.key] : ticked.filter((key) => key !== one.key),
                    )
                  }
                />
                <span>
                  <b>{one.parts.join(' and ')}</b> {one.words}
                </span>
                <span className="figure">{percent(one.probability)} %</span>
              </label>
            ))}
          </fieldset>
        )}
        {asks && (
          <label>
            <span className="label">
              {suspects.length > 0 ? 'Another part' : 'Part'}, and how it had failed where that is known:
              ADD/R5:open
            </span>
            <input
              className="choice"
              value={other}
              list={`${ids}all`}
              autoComplete="off"
              onChange={(event) => setOther(event.target.value)}
            />
            <datalist id={`${ids}all`}>
              {suspects.map((one) => (
                <option key={one.key} value={suspectsIn([one.key]).join(' ')}>
                  {one.words}
                </option>
              ))}
            </datalist>
          </label>
        )}
        <label>
          <span className="label">Points it is about, with spaces between; none is well, too</span>
          <input
            className="choice"
            value={points}
            list={`${ids}points`}
            autoComplete="off"
            onChange={(event) => setPoints(event.target.value)}
          />
        </label>
        {wrong && (
          <p className="refusal" role="alert">
            {wrong}
          </p>
        )}
        <p className="entry-acts">
          <button type="submit" className="button main">
            Keep it
          </button>
          <button type="button" className="button" onClick={onClose}>
            Leave it
          </button>
        </p>
      </form>
    </Dialog>
  );
}

/** Cautions for whoever changes these parts: those of all old machines, and of their boards. */
function replacing({ boards }: MachineView, suspects: readonly string[]): string {
  const on = new Set(suspects.map((suspect) => partAndMode(suspect).part.split('/')[0]));
  const own = boards
    .filter(({ name, caution }) => caution && on.has(name))
    .map(({ name, caution }) => `${name}: ${caution}.`);
  return [
    'Power off, plugged out, capacitors discharged and measured before a lead is touched.',
    ...own,
    CHANGING_PARTS,
    ONLY_ADVICE,
  ].join(' ');
}

function usualUnit({ units }: MachineView): string {
  return (units.find(({ health }) => health !== 'healthy') ?? units[0])?.id ?? '';
}

/** The day as it was chosen; of today, and of a moment that was left as it stood, the moment. */
function moment(day: string, before: string | undefined): string {
  if (before !== undefined && before.slice(0, 10) === day) return before;
  return day === '' || day === today() ? new Date().toISOString() : day;
}
