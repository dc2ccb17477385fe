import type { MachineView } from '../../server/index.ts';
import { Link } from '../link.tsx';
import type { Problem } from '../live.ts';

/** Why there are no levels, and where that can be mended. */
export function Blocked({ machine, problem }: { readonly machine: MachineView; readonly problem: Problem }) {
  const wrong = machine.findings.find(({ severity }) => severity === 'error');
  const sheet = wrong?.file.replace(/\.(csv|json)$/, '');
  return (
    <p className="refusal">
      {problem.message.charAt(0).toUpperCase() + problem.message.slice(1)}
      {wrong && problem.code === 'folder' && (
        <>
          : <Link to={`/m/${machine.id}/sheets/${sheet}`}>{wrong.message}</Link>
        </>
      )}
    </p>
  );
}
