import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { api, useLive } from '../live.ts';
import { PAGES } from '../pages.ts';

/** All machines of the workshop. */
export default function MachinesPage() {
  const { value: machines, problem } = useLive(api.machines, {});
  return (
    <Frame title="Machines">
      <div className="page-body">
        <h1>Machines</h1>
        {problem && <p className="refusal">{problem.message}</p>}
        <ul>
          {machines?.map(({ id, name, summary }) => (
            <li key={id}>
              <Link to={PAGES[0]!.path(String(id))}>{name}</Link> <span className="label">{summary}</span>
            </li>
          ))}
        </ul>
      </div>
    </Frame>
  );
}
