import { useState } from 'react';
import type { MachineView } from '../../server/index.ts';
import { dayWords } from '../dates.ts';
import { Link } from '../link.tsx';
import { api, outdateMachine, told, useLive } from '../live.ts';
import { VerdictMark } from '../marks.tsx';
import { address } from '../router.ts';
import { axisOf, Strip, spreads, volts } from '../strip/index.ts';
import type { Draft } from './entry-dialog.tsx';
import { benchAt, EntryList } from './entry-list.tsx';
import { pointsBack, progressOf, progressWords, proofText, type RepairRow } from './proof.ts';
import type { Repair } from './repairs.ts';

/** One repair with its entries; while it is open, what is still to be proved. */
export function RepairArticle({
  machine,
  repair,
  onWrite,
}: {
  readonly machine: MachineView;
  readonly repair: Repair;
  readonly onWrite: (draft: Draft) => void;
}) {
  const { unit, entries, closed } = repair;
  const symptom = entries[0]!.entry;
  const account = address(`/m/${machine.id}/print/repair`, { repair: repair.key });
  return (
    <article className="repair">
      <div className="repair-head">
        <h2>
          {unit}
          <span className="aside">: {symptom.text}</span>
        </h2>
        <p className="label">
          {closed
            ? `closed ${closed.date ? dayWords(closed.date) : 'without a date'}`
            : `open${symptom.date ? ` since ${dayWords(symptom.date)}` : ''}`}
        </p>
      </div>
      <EntryList machine={machine} entries={entries} opens onCorrect={onWrite} />
      {!closed && <Proof machine={machine} repair={repair} />}
      <p className="repair-acts">
        {!closed && (
          <>
            <button type="button" className="button" onClick={() => onWrite({ unit, kind: 'finding' })}>
              Write a finding
            </button>
            <button type="button" className="button" onClick={() => onWrite({ unit, kind: 'replaced' })}>
              A part was replaced
            </button>
          </>
        )}
        <Link className="button" to={account}>
          Account to print
        </Link>
      </p>
    </article>
  );
}

/** The points that departed, and the button that closes the repair with those that are back. */
function Proof({ machine, repair }: { readonly machine: MachineView; readonly repair: Repair }) {
  const { unit, from } = repair;
  const param = { id: String(machine.id) };
  const { value, problem } = useLive(api.machines[':id'].repair, {
    param,
    query: { unit, ...(from && { from }) },
  });
  const [refused, setRefused] = useState('');
  if (problem) return <p className="refusal">{problem.message}</p>;
  if (!value) return <p className="label">Looking for the points that departed</p>;
  const { rows } = value;
  if (rows.length === 0) {
    return (
      <p className="prose">
        {value.readings === 0
          ? 'Nothing has been read on this unit since it was last proved sound. Read the points of the board on the bench: those that depart stand here until they are back.'
          : `No point departs: all ${value.readings} readings are within the sound spread or near it. A finding may say more than they do.`}
      </p>
    );
  }
  const back = pointsBack(rows);
  const all = rows.every((row) => progressOf(row) === 'back');
  const close = async () => {
    setRefused('');
    const outcome = await told(
      api.machines[':id'].log.$post({
        param,
        json: {
          unit,
          kind: 'proof',
          date: new Date().toISOString(),
          text: proofText(rows),
          points: back,
        },
      }),
    );
    if (outcome.ok) outdateMachine(machine.id);
    else setRefused(`Not closed: ${outcome.problem.message}`);
  };
  return (
    <section className="proof" aria-label="What is to be proved">
      <h3>
        Points that departed <span className="label">{progressWords(rows)}</span>
      </h3>
      <table className="proof-rows">
        <thead>
          <tr className="label">
            <th scope="col">point</th>
            <th scope="col">
              <span className="aside">sound band and last reading</span>
            </th>
            <th scope="col">was</th>
            <th scope="col">now</th>
            <th scope="col">spreads off</th>
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <ProofRow key={`${row.state} ${row.point}`} machine={machine} unit={unit} row={row} />
          ))}
        </tbody>
      </table>
      <div className="proof-close">
        <button
          type="button"
          className={`button ${back.length > 0 && all ? 'main' : ''}`}
          disabled={back.length === 0}
          onClick={close}
        >
          {back.length === 0
            ? 'Close the repair'
            : `Close the repair with ${back.length === 1 ? 'this point' : `these ${back.length} points`}`}
        </button>
        <p className="label">
          {back.length === 0
            ? 'Nothing is back yet: mend it, bring the unit into the state, and read these points again.'
            : all
              ? 'All are back within the sound spread.'
              : 'The proof will say which points are not proved.'}
        </p>
        {refused && (
          <p className="refusal" role="alert">
            {refused}
          </p>
        )}
      </div>
    </section>
  );
}

const STRIP = { width: 300, height: 25 };

function ProofRow({
  machine,
  unit,
  row,
}: {
  readonly machine: MachineView;
  readonly unit: string;
  readonly row: RepairRow;
}) {
  const { state, point, sound, learnt, departed, now } = row;
  const family = machine.points.find((one) => one.point === point)?.family ?? 0;
  const progress = progressOf(row);
  return (
    <tr className={progress}>
      <th scope="row">
        <Link to={benchAt(machine, { unit, state, point })}>{point}</Link>{' '}
        <span className="label proof-state">{state}</span>
      </th>
      <td className="proof-strip">
        <Strip
          input={{ sound, learnt, reading: now.value }}
          axis={axisOf(machine.families[family]!)}
          {...STRIP}
        />
      </td>
      <td className="figure">{volts(departed.value)}</td>
      <td className="figure">
        {progress === 'unread' ? (
          <>
            <span aria-hidden="true">· · ·</span>
            <span className="aside">not read again</span>
          </>
        ) : (
          <b>{volts(now.value)}</b>
        )}
      </td>
      <td className="figure">
        {progress !== 'unread' && (
          <>
            {progress === 'back' ? 'back, ' : ''}
            {spreads(now.off)}{' '}
            <VerdictMark verdict={now.verdict} toward={now.off < 0 ? 'left' : 'right'} size={0.85} />
          </>
        )}
      </td>
    </tr>
  );
}
