import { Frame } from '../frame.tsx';
import { api, useLive } from '../live.ts';
import type { PageProps } from '../routes.tsx';
import { UndoButton } from '../undo.tsx';
import './machines.css';

const MOST = 300;

/** What was changed in a machine, the last first; the last that stands can be taken back. */
export default function ChangesPage({ at }: PageProps) {
  const id = at.machine!;
  const { value: machine, problem } = useLive(api.machines[':id'], { param: { id } });
  const { value: changes } = useLive(api.machines[':id'].changes, { param: { id }, query: { limit: MOST } });
  return (
    <Frame title="Changes" machine={{ id, name: machine?.name ?? '' }}>
      <div className="page-body">
        <div className="page-title">
          <h1>Changes</h1>
          <UndoButton machine={id} />
        </div>
        {problem && <p className="refusal">{problem.message}</p>}
        <ol className="changes">
          {changes?.map(({ id: change, at: when, what, undoneBy }) => (
            <li key={change} className={undoneBy === null ? '' : 'undone'}>
              <time className="label" dateTime={when}>
                {moment(when)}
              </time>
              <span>
                {undoneBy === null ? what : <s>{what}</s>}
                {undoneBy !== null && <span className="label"> taken back</span>}
              </span>
            </li>
          ))}
        </ol>
        {changes?.length === MOST && <p className="label">Older ones are on record and not shown.</p>}
      </div>
    </Frame>
  );
}

function moment(at: string): string {
  const words = {
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
  } as const;
  return new Date(at).toLocaleString('en-GB', words);
}
