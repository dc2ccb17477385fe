/** What a scope's screen says of a unit that runs, as readings. */
import type { Machine, Reading } from '../src/machine/index.ts';
import { delay, isMeasured, type Measurement, measurement, type Trace } from '../src/waveform/index.ts';
import { RUNNING, type RunningSetting } from './machine/index.ts';
import { Chance } from './random.ts';
import { type Waveforms, waveformsOf } from './running-unit.ts';
import { type Scope, type ScopeName, sampled, scopeOf } from './scope.ts';

/** A running state, and what is read in it: `POINT=quantity,quantity`, with spaces between. */
export type Looks = readonly (readonly [condition: string, looks: string])[];

/** One day at one unit with a scope. */
export interface ScopeVisit {
  readonly unit: string;
  readonly scope: ScopeName;
  /** Milliseconds since 1970. */
  readonly start: number;
  /** Room, °C. */
  readonly ambient: number;
}

/** Samples over what is looked at, as if every edge had been looked at by itself. */
const SAMPLES = 20_000;
/** Seconds from reading to reading, and to set up a state. */
const PACE = 75;
const SET_UP = 1500;
/** Below this share of a screen or so many volts nothing is seen to move. */
const LEAST_MOVE = 0.3;
/** Standard uncertainty of a time, share of it. */
const TIME_UNCERTAINTY = 0.01;

const IN_SECONDS = /^(width|period|rise|fall|delay:.*)$/;

export function settingNamed(name: string): RunningSetting {
  const setting = RUNNING.find((s) => s.name === name);
  if (!setting) throw new Error(`no running state ${name}`);
  return setting;
}

/** The readings of one visit. What cannot be read, since nothing moves or an edge is missing, has no row but `moves`. */
export function scopedReadings(unit: Machine, visit: ScopeVisit, looks: Looks, seed: number): Reading[] {
  const chance = new Chance(seed, visit.unit, 'scope');
  const scope = scopeOf(visit.scope, chance);
  let clock = visit.start;
  return looks.flatMap(([condition, list]) => {
    clock += SET_UP * 1000;
    const setting = settingNamed(condition);
    const screen = new Screen(scope, waveformsOf(unit, setting, visit.ambient), setting, chance);
    return list.split(' ').flatMap((look) => {
      const [point, quantities] = look.split('=') as [string, string];
      return quantities.split(',').flatMap((quantity): Reading[] => {
        const value = screen.read(point, quantity);
        if (value === undefined) return [];
        clock += PACE * 1000;
        const seconds = IN_SECONDS.test(quantity);
        const shown = seconds
          ? Number(value.toPrecision(3))
          : quantity === 'moves'
            ? value
            : Number(value.toFixed(2)) + 0;
        return [
          {
            unit: visit.unit,
            condition,
            point,
            quantity,
            value: shown,
            ...(seconds
              ? { uncertainty: Number((TIME_UNCERTAINTY * Math.abs(shown) + screen.step).toPrecision(2)) }
              : {}),
            takenAt: new Date(clock).toISOString().replace('.000', ''),
            ambient: visit.ambient,
            instrument: visit.scope,
            note: '',
          },
        ];
      });
    });
  });
}

class Screen {
  /** Seconds between samples. */
  readonly step: number;
  readonly #of: (point: string) => Trace;
  readonly #traces = new Map<string, { trace: Trace; measured: Measurement }>();

  constructor(scope: Scope, waveforms: Waveforms, { watch }: RunningSetting, chance: Chance) {
    this.step = (watch.to - watch.from) / SAMPLES;
    this.#of = (point) => sampled(scope, waveforms, point, { ...watch, count: SAMPLES }, chance).trace;
  }

  read(point: string, quantity: string): number | undefined {
    const { trace, measured } = this.#at(point);
    if (quantity.startsWith('delay:')) {
      const from = this.#at(quantity.slice('delay:'.length));
      if (!this.#moves(from.measured) || !this.#moves(measured)) return undefined;
      const found = delay(from.measured.edges, measured.edges);
      return isMeasured(found) ? found.value : undefined;
    }
    if (quantity === 'moves') return this.#moves(measured) ? 1 : 0;
    if (quantity === 'average' || quantity === 'Vpp') {
      const found = quantity === 'average' ? measured.average : measured.peakToPeak;
      return isMeasured(found) ? found.value : undefined;
    }
    if (!this.#moves(measured)) return undefined;
    const found = {
      high: measured.levels.high,
      low: measured.levels.low,
      width: measured.pulseDuration,
      period: measured.period,
      rise: measured.rise.duration,
      fall: measured.fall.duration,
    }[quantity];
    if (found === undefined) throw new Error(`${quantity} of ${trace.name}: no quantity of a waveform`);
    return isMeasured(found) ? found.value : undefined;
  }

  #moves({ levels }: Measurement): boolean {
    return levels.maximum - levels.minimum > LEAST_MOVE;
  }

  #at(point: string): { trace: Trace; measured: Measurement } {
    let known = this.#traces.get(point);
    if (!known) {
      const trace = this.#of(point);
      known = { trace, measured: measurement(trace) };
      this.#traces.set(point, known);
    }
    return known;
  }
}
