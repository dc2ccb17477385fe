/** The way of a signal back from a point to the edge: what drives it, what drives that, and so on. */
import type { Drive } from './drives.ts';
import type { SignalFlow } from './signal-flow.ts';
import type { Stage } from './stages.ts';

export interface WayBackStep {
  /** Nets away from the point, 0 for the point itself. */
  readonly depth: number;
  readonly net: string;
  /** None where it is not known what drives it. */
  readonly drives: readonly Drive[];
  readonly stages: readonly Stage[];
}

/**
 * Every net that acts on the point, each once and the nearest first, back to the rails and to what comes from outside. A supply ends the
 * way unless it is the point itself.
 */
export function wayBack(flow: SignalFlow, point: string): WayBackStep[] {
  const depths = new Map([[point, 0]]);
  // A map gives back what is put in while it is gone through, in order: the queue of a search in breadth.
  for (const [net, depth] of depths) {
    if (flow.supplies.has(net) && depth > 0) continue;
    for (const { from } of flow.drives.get(net) ?? [])
      for (const source of from) if (!depths.has(source)) depths.set(source, depth + 1);
  }
  return [...depths].map(([net, depth]) => {
    return { depth, net, drives: flow.drives.get(net) ?? [], stages: flow.driversOf.get(net) ?? [] };
  });
}
