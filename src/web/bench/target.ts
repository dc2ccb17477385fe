/** What the head asks for: the point chosen by hand, the next reading, or what to begin with. */

import type { BenchRow, MachineView, NextView, PointView } from '../../server/index.ts';
import { askingOrder } from './order.ts';

export interface Target {
  readonly point: PointView;
  readonly state: string;
  /** The machine must be brought into that state first. */
  readonly change: boolean;
  readonly label: string;
}

export interface Asked {
  readonly machine: MachineView;
  /** The state that the machine is in. */
  readonly state: string;
  readonly rows: readonly BenchRow[];
  readonly next: readonly NextView[];
  readonly unreachable: ReadonlySet<string>;
  /** Points read in this visit, which `rows` may not know of yet. */
  readonly taken?: ReadonlySet<string>;
  /** The state was chosen by hand, and is read in before another one is asked for. */
  readonly stay?: boolean;
  /** By hand. */
  readonly chosen: string | undefined;
  /** How many of the asking order have been stepped past. */
  readonly steps: number;
}

/** `undefined` only where the machine has no point. */
export function targetOf({
  machine,
  state,
  rows,
  next,
  unreachable,
  taken,
  stay,
  chosen,
  steps,
}: Asked): Target | undefined {
  const known = new Map(machine.points.map((point) => [point.point, point]));
  const byHand = chosen === undefined ? undefined : known.get(chosen);
  if (byHand) return { point: byHand, state, change: false, label: 'Chosen by hand' };
  const netOf = (point: string) => known.get(point)?.net ?? point;
  const wanted = stay ? next.filter((one) => one.state === state) : next;
  const order = askingOrder(wanted, unreachable, netOf).filter(({ point }) => known.has(point));
  if (order.length > 0) {
    const asked = order[steps % order.length]!;
    const label = unreachable.has(asked.point) ? 'Touch next, if it can be reached' : 'Touch next';
    return { point: known.get(asked.point)!, state: asked.state, change: asked.state !== state, label };
  }
  const first = beginning(machine, rows, unreachable, taken, steps);
  return (
    first && {
      point: first,
      state,
      change: false,
      label: rows.some(({ reading }) => reading) ? 'Not read yet' : 'Begin with',
    }
  );
}

/** Rails first, since they decide the most, then points in signal order, each without a caution first; what is dangerous comes last. */
function beginning(
  machine: MachineView,
  rows: readonly BenchRow[],
  unreachable: ReadonlySet<string>,
  taken: ReadonlySet<string> | undefined,
  steps: number,
): PointView | undefined {
  const read = new Set(rows.filter(({ reading }) => reading !== null).map(({ point }) => point));
  const rails = new Set(machine.families.flatMap((family) => family.rails.map(({ net }) => net)));
  const rank = (point: PointView) =>
    (read.has(point.point) || taken?.has(point.point) ? 16 : 0) +
    (unreachable.has(point.point) ? 8 : 0) +
    (point.gated ? 4 : 0) +
    (rails.has(point.point) ? 0 : 2) +
    (point.caution === '' ? 0 : 1);
  const ranked = [...machine.points].sort((a, b) => rank(a) - rank(b));
  return ranked[steps % Math.max(1, ranked.length)];
}
