import type { ReactNode } from 'react';
import type { MachineView } from '../server/index.ts';
import { Frame } from './frame.tsx';
import { Link } from './link.tsx';
import { api, useLive } from './live.ts';

/** A page of one machine: until it is read, or when it cannot be, this says so in its place. */
export function WithMachine({
  id,
  title,
  children,
}: {
  readonly id: string;
  readonly title: string;
  readonly children: (machine: MachineView) => ReactNode;
}) {
  const { value: machine, problem } = useLive(api.machines[':id'], { param: { id } });
  if (machine) return children(machine);
  return (
    <Frame title={title}>
      <div className="page-body">
        {problem ? (
          <>
            <h1>This machine cannot be shown</h1>
            <p className="prose">{problem.message}</p>
            <p>
              <Link to="/">All machines</Link>
            </p>
          </>
        ) : (
          <p className="label">Reading the machine</p>
        )}
      </div>
    </Frame>
  );
}
