/** The way of a signal back from a point to the edge: what drives it, what drives that, and so on. */
import type { Drive } from './drives.ts';
import type { SignalFlow } from './signal-flow.ts';
import type { Stage } from './stages.ts';

export interface WayBackStep {
  /** Stages away from the point, 0 for the point itself. */
  readonly depth: number;
  readonly net: string;
  readonly drives: readonly Drive[];
  readonly stages: readonly Stage[];
  /** Whether it stands nearer to the point already, where the way goes on. */
  readonly again: boolean;
}

/**
 * Steps in the order in which a person goes back: a net, then at once what drives it. A net is followed where it comes first; a supply ends
 * the way unless it is the point itself.
 */
export function wayBack(flow: SignalFlow, point: string, deepest = Number.POSITIVE_INFINITY): WayBackStep[] {
  const steps: WayBackStep[] = [];
  const followed = new Set<string>();
  // On a stack of our own: a long way back must not exhaust the machine's.
  const todo: { net: string; depth: number }[] = [{ net: point, depth: 0 }];
  for (let one = todo.pop(); one !== undefined; one = todo.pop()) {
    const { net, depth } = one;
    const drives = flow.drives.get(net) ?? [];
    const again = followed.has(net);
    steps.push({ depth, net, drives, stages: flow.driversOf.get(net) ?? [], again });
    followed.add(net);
    if (again || depth >= deepest || (flow.supplies.has(net) && depth > 0)) continue;
    const sources = [...new Set(drives.flatMap(({ from }) => from))].reverse();
    todo.push(...sources.map((source) => ({ net: source, depth: depth + 1 })));
  }
  return steps;
}
