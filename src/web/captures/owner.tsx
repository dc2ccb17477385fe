import type { MachineView } from '../../server/index.ts';
import { DotMark, RingMark } from '../marks.tsx';
import { isHealthy } from './sides.ts';

/** A unit with its mark: a ring for a healthy one, a dot for any other. */
export function Owner({ machine, unit }: { readonly machine: MachineView; readonly unit: string }) {
  if (unit === '') return <span className="label">no unit</span>;
  return (
    <span className="waves-owner">
      {isHealthy(machine, unit) ? <RingMark /> : <DotMark />} {unit}
    </span>
  );
}
