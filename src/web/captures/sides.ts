/** Two captures beside each other: which is the reference, which channels belong together, which captures are offered. */

import type { CaptureChannel, CaptureEntry, MachineView } from '../../server/index.ts';

export interface Pair {
  /** Indices of the channels. */
  readonly reference: number;
  readonly other: number;
}

/** Same point, else same name, else the same place where neither has a point. */
export function pairs(reference: CaptureEntry, other: CaptureEntry): Pair[] {
  const free = new Set(other.channels);
  const found: Pair[] = [];
  const join = (alike: (a: CaptureChannel, b: CaptureChannel) => boolean): void => {
    for (const channel of reference.channels) {
      if (found.some((pair) => pair.reference === channel.index)) continue;
      const twin = [...free].find((one) => one.kind === channel.kind && alike(channel, one));
      if (!twin) continue;
      free.delete(twin);
      found.push({ reference: channel.index, other: twin.index });
    }
  };
  join((a, b) => !!a.point && a.point === b.point);
  join((a, b) => !(a.point && b.point) && a.name !== '' && a.name === b.name);
  join((a, b) => !a.point && !b.point && a.index === b.index);
  return found.sort((p, q) => p.reference - q.reference);
}

export function isHealthy(machine: MachineView, unit: string): boolean {
  return machine.units.find(({ id }) => id === unit)?.health === 'healthy';
}

/**
 * Captures of other units in the same state with a point in common, healthy units first, then the newest; then those of any unit
 * that could be laid beside it.
 */
export function twinsOf(
  entry: CaptureEntry,
  all: readonly CaptureEntry[],
  machine: MachineView,
): CaptureEntry[] {
  const points = new Set(entry.channels.map(({ point }) => point).filter(Boolean));
  const rank = (one: CaptureEntry): number =>
    (one.state === entry.state ? 0 : 8) +
    (one.channels.some(({ point }) => point && points.has(point)) ? 0 : 4) +
    (one.unit === entry.unit ? 2 : 0) +
    (isHealthy(machine, one.unit) ? 0 : 1);
  return all.filter(({ id }) => id !== entry.id).sort((p, q) => rank(p) - rank(q));
}

/** The one that is laid beside it without being asked for: another unit, the same state, a point in common. */
export function offered(
  entry: CaptureEntry,
  all: readonly CaptureEntry[],
  machine: MachineView,
): CaptureEntry | undefined {
  const [first] = twinsOf(entry, all, machine);
  if (!first || first.unit === entry.unit || first.state !== entry.state) return undefined;
  const points = entry.channels.map(({ point }) => point).filter(Boolean);
  return first.channels.some(({ point }) => point && points.includes(point)) ? first : undefined;
}

/** Both count from a trigger that is inside of what was captured: then the trigger is common. */
export function triggered(...entries: readonly CaptureEntry[]): boolean {
  return entries.every(({ channels }) => channels.every(({ start, end }) => start < 0 && end > 0));
}
