/** What there is to read of the states that run, and what each hypothesis that is alive would show there. */

import type { Component } from './next-reading.ts';
import { type Foretold, movesAtAll, type RunningReadings } from './running.ts';
import { usualSigma } from './running-datum.ts';
import type { Site } from './site.ts';
import type { FaultTable } from './table.ts';

/** A hypothesis that is alive: its faults; undefined for what nobody has thought of. */
export interface Living {
  readonly group: number;
  readonly probability: number;
  readonly faults: readonly number[] | undefined;
}

export interface RunningPlace {
  readonly condition: number;
  readonly site: Site;
  readonly quantity: string;
  readonly components: readonly Component[];
  /** A rough measure of what it tells, bits. */
  readonly rough: number;
}

/** What is proposed; levels before times, since an eye sees them sooner. */
const QUANTITIES = ['moves', 'high', 'low', 'period', 'width', 'rise', 'fall'];
/** A figure that a waveform does not have stands so many spreads away from those that others have. */
const NOWHERE = 12;
/** What tells less by the rough measure tells nothing, bits. */
const LEAST_BITS = 1e-3;
/** All hypotheses that move a net together must be so probable. */
const MOVED_LEAST = 0.004;

/**
 * Places in running states that may part the hypotheses.
 *
 * @param taken  whether a quantity has been read at a net in a condition
 * @param volts  what an unknown fault may read, volts
 */
export function runningPlaces(
  table: FaultTable,
  running: RunningReadings,
  alive: readonly Living[],
  sites: Iterable<Site>,
  taken: (condition: number, net: number, quantity: string) => boolean,
  volts: number,
): RunningPlace[] {
  const waves = table.running;
  if (waves === undefined) return [];
  const { machine, netlist } = table;
  const found: RunningPlace[] = [];
  const own = [...sites];
  for (const condition of waves.conditions) {
    if (!waves.followed(condition)) continue;
    // Delays count from what moves the state: the first of its drives that has a wave.
    const clock = machine.conditions[condition]!.drives.find(({ wave }) => wave !== undefined)?.net;
    const clockNet = clock === undefined ? undefined : netlist.netIndex.get(clock);
    const seen = new Set<number>();
    for (const site of own) {
      // One place of a net: with a wave on the screen its pins say no more.
      if (site.net < 0 || seen.has(site.net)) continue;
      seen.add(site.net);
      const moves = (net: number): boolean[] =>
        alive.map(({ faults }) => faults === undefined || faults.some((f) => waves.moves(f, condition, net)));
      const moved = moves(site.net);
      const mass = alive.reduce((sum, { probability }, i) => (moved[i] ? sum + probability : sum), 0);
      if (mass < MOVED_LEAST) continue;
      const clocked = clockNet === undefined ? moved : moves(clockNet).map((is, i) => is || moved[i]!);
      const delays = clockNet === undefined || clockNet === site.net ? [] : [`delay:${clock}`];
      for (const quantity of [...QUANTITIES, ...delays]) {
        if (taken(condition, site.net, quantity)) continue;
        const own = quantity.startsWith('delay') ? clocked : moved;
        const components = componentsOf(running, alive, own, condition, site, quantity, volts);
        if (components === undefined) continue;
        const rough = roughBits(components);
        if (rough > LEAST_BITS) found.push({ condition, site, quantity, components, rough });
      }
    }
  }
  return found;
}

function componentsOf(
  running: RunningReadings,
  alive: readonly Living[],
  moved: readonly boolean[],
  condition: number,
  site: Site,
  quantity: string,
  volts: number,
): Component[] | undefined {
  const sound = running.at(condition, site, quantity, undefined);
  if (sound === undefined) return undefined;
  const foretold = alive.map(({ faults }, i): Foretold => {
    if (!moved[i]) return sound;
    if (faults === undefined) return { ...sound, kind: 'unknown' };
    const moving = faults.map((f) => running.at(condition, site, quantity, f)!);
    // Of two faults the one that moves it more.
    return moving.reduce((a, b) => (distance(b, sound) > distance(a, sound) ? b : a), sound);
  });
  if (quantity === 'moves')
    return alive.map(({ group, probability }, i) => {
      const { mean, sigma } = movesAtAll(foretold[i]!);
      return { group, probability, mean, sigma: Math.max(0.1, sigma) };
    });
  const figures = foretold.filter(({ kind }) => kind === 'figure');
  if (figures.length === 0) return undefined;
  const noise = ({ mean, sigma }: Foretold): number => Math.hypot(sigma, usualSigma(quantity, mean));
  const widest = Math.max(...figures.map(noise));
  const lowest = Math.min(...figures.map(({ mean }) => mean));
  const inVolts = usualSigma(quantity, 0) === usualSigma('high', 0);
  const middle = sound.kind === 'figure' ? sound.mean : figures[0]!.mean;
  return alive.map(({ group, probability }, i) => {
    const one = foretold[i]!;
    if (one.kind === 'figure') return { group, probability, mean: one.mean, sigma: noise(one) };
    if (one.kind === 'none') return { group, probability, mean: lowest - NOWHERE * widest, sigma: widest };
    return {
      group,
      probability,
      mean: middle,
      sigma: inVolts ? volts / 3 : Math.max(widest, Math.abs(middle)),
    };
  });
}

function distance(a: Foretold, sound: Foretold): number {
  if (a.kind !== sound.kind) return Infinity;
  return a.kind === 'figure' ? Math.abs(a.mean - sound.mean) : 0;
}

/** Half the logarithm of how much wider the means of all lie than each by itself; no more than their moved share can tell. */
function roughBits(components: readonly Component[]): number {
  let [mass, mean] = [0, 0];
  for (const { probability, mean: m } of components) {
    mass += probability;
    mean += probability * m;
  }
  mean /= mass;
  let apart = 0;
  for (const c of components)
    apart += (c.probability / mass) * Math.min(25, ((c.mean - mean) / c.sigma) ** 2);
  return 0.5 * Math.log2(1 + apart);
}
