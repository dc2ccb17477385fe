import { useState } from 'react';
import type { MachineEntry } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { api, outdateMachine, told, useLive } from '../live.ts';
import { DotMark, RingMark } from '../marks.tsx';
import './machines.css';

/** All machines of the workshop, and the ways to one more. */
export default function MachinesPage() {
  const { value: machines, problem } = useLive(api.machines, {});
  const { value: removed } = useLive(api.machines.removed, {});
  const [said, say] = useState('');
  const remove = async ({ id, name }: MachineEntry) => {
    const outcome = await told(api.machines[':id'].$delete({ param: { id: String(id) } }));
    outdateMachine(id);
    say(
      outcome.ok
        ? `${name} is removed. It can be brought back below.`
        : `Not removed: ${outcome.problem.message}`,
    );
  };
  const bringBack = async (id: number, name: string) => {
    const outcome = await told(api.machines[':id'].undo.$post({ param: { id: String(id) } }));
    outdateMachine(id);
    say(outcome.ok ? `${name} is back.` : `Not brought back: ${outcome.problem.message}`);
  };
  return (
    <Frame title="Machines">
      <div className="page-body machines">
        <div className="page-title">
          <h1>Machines</h1>
          <Link to="/new" className="button main">
            A machine from nothing
          </Link>
          <Link to="/import" className="button">
            Bring in a folder
          </Link>
        </div>
        <p role="status" className="machines-said">
          {said}
        </p>
        {problem && <p className="refusal">{problem.message}</p>}
        {machines?.length === 0 && (
          <p className="prose">
            No machine is on record. One can be described in a few minutes: its boards, their contacts, two
            units. Comparing works before any part is traced.
          </p>
        )}
        <ul className="machine-list">
          {machines?.map((machine) => (
            <MachineRow key={machine.id} machine={machine} onRemove={() => remove(machine)} />
          ))}
        </ul>
        {removed !== undefined && removed.length > 0 && (
          <section aria-labelledby="removed">
            <h2 id="removed">Removed</h2>
            <ul className="removed-list">
              {removed.map(({ id, name, removedAt }) => (
                <li key={id}>
                  <span>
                    {name} <span className="label">on {day(removedAt)}</span>
                  </span>
                  <button type="button" className="button" onClick={() => bringBack(id, name)}>
                    Bring back<span className="aside"> {name}</span>
                  </button>
                </li>
              ))}
            </ul>
          </section>
        )}
      </div>
    </Frame>
  );
}

function MachineRow({
  machine,
  onRemove,
}: {
  readonly machine: MachineEntry;
  readonly onRemove: () => void;
}) {
  const { id, name, summary, units, boards, parts, readings, changedAt } = machine;
  const path = `/m/${id}`;
  return (
    <li className="machine-row">
      <div className="machine-what">
        <h2>
          <Link to={`${path}/bench`}>{name}</Link>
        </h2>
        {summary && <p className="label">{summary}</p>}
        <p className="machine-units">
          {units.map((unit) => (
            <span key={unit.id}>
              {unit.health === 'healthy' ? <RingMark /> : <DotMark large={unit.health === 'faulty'} />}{' '}
              {unit.id}
              <span className="label">, {unit.health === 'unknown' ? 'not known' : unit.health}</span>
            </span>
          ))}
        </p>
      </div>
      <p className="machine-counts label">
        {counted(boards, 'board')}, {counted(parts, 'part')}, {counted(readings, 'reading')}
        <br />
        changed {day(changedAt)}
      </p>
      <div className="machine-does">
        <Link to={`${path}/sheets/parts`} className="button">
          Sheets<span className="aside"> of {name}</span>
        </Link>
        <a className="button" href={`/api/machines/${id}/export.zip`} download>
          Export<span className="aside"> {name} as a zip</span>
        </a>
        <button type="button" className="button" onClick={onRemove}>
          Remove<span className="aside"> {name}</span>
        </button>
      </div>
    </li>
  );
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}

function day(at: string): string {
  return new Date(at).toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
}
