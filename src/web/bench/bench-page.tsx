import { Frame } from '../frame.tsx';
import { api, useLive } from '../live.ts';
import type { PageProps } from '../routes.tsx';

/** The bench: one machine, one unit, one state. */
export default function BenchPage({ at }: PageProps) {
  const { value: machine, problem } = useLive(api.machines[':id'], { param: { id: at.machine! } });
  return (
    <Frame title="Bench" machine={machine && { id: String(machine.id), name: machine.name }}>
      {problem && <p className="refusal">{problem.message}</p>}
    </Frame>
  );
}
