import { type Expectation, type ExpectationQuery, expectations, type NoPoint } from '../diagnosis/index.ts';
import type { Machine } from '../machine/index.ts';
import { chosenCondition, chosenFault, type FaultName } from './choice.ts';

export type Level = Expectation;

export interface Levels {
  readonly levels: readonly Level[];
  /** Conditions for which no operating point was found, with the nets that hold out. */
  readonly noPoint: readonly NoPoint[];
  /** Conditions whose stated state does not hold. */
  readonly stateLost: readonly string[];
}

export interface LevelQuery {
  readonly condition?: string | undefined;
  /** `PART:MODE`. */
  readonly fault?: string | undefined;
  /** Room temperature, °C; the machine's without it. */
  readonly ambient?: number | undefined;
  /** Only states that stand still: those that run take seconds. */
  readonly atRest?: boolean;
}

/** What each point reads, by condition: of a sound unit, or under a fault. @throws InputError  for a name that is not there */
export function expectationsOf(
  machine: Machine,
  { condition, fault, ambient, atRest = false }: LevelQuery = {},
): Levels {
  const query: ExpectationQuery = {
    ...(condition === undefined ? {} : { condition: chosenCondition(machine, condition)! }),
    ...(fault === undefined ? {} : { fault: chosenFault(machine, fault) }),
    ...(ambient === undefined ? {} : { ambient }),
    atRest,
  };
  const { expectations: levels, noPoint, stateLost } = expectations(machine, query);
  return { levels, noPoint, stateLost };
}

/** The levels of a sound unit with their spreads. */
export function soundLevels(machine: Machine, query: Omit<LevelQuery, 'fault'> = {}): Levels {
  return expectationsOf(machine, query);
}

export interface WhatIfLevel {
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly sound: number;
  readonly soundSigma: number;
  readonly fault: number;
  readonly faultSigma: number;
  /** How far the fault's level is from the sound one, in spreads of a sound unit; never negative. */
  readonly off: number;
}

export interface WhatIf {
  readonly fault: FaultName;
  /** Every point with a level on both sides, the furthest from sound first. */
  readonly levels: readonly WhatIfLevel[];
  /** Under the fault. */
  readonly noPoint: readonly NoPoint[];
  readonly stateLost: readonly string[];
}

/** What would be read if this fault were there, beside a sound unit. @throws InputError  for a name that is not there */
export function whatIf(machine: Machine, fault: string, query: Omit<LevelQuery, 'fault'> = {}): WhatIf {
  const chosen = chosenFault(machine, fault);
  const sound = new Map(soundLevels(machine, query).levels.map((level) => [key(level), level]));
  const faulty = expectationsOf(machine, { ...query, fault });
  const levels = faulty.levels.flatMap((level): WhatIfLevel[] => {
    const base = sound.get(key(level));
    if (base === undefined || !Number.isFinite(base.value) || !Number.isFinite(level.value)) return [];
    const off = Math.abs(level.value - base.value) / base.sigma;
    return [
      {
        condition: level.condition,
        point: level.point,
        quantity: level.quantity,
        sound: base.value,
        soundSigma: base.sigma,
        fault: level.value,
        faultSigma: level.sigma,
        off,
      },
    ];
  });
  levels.sort((a, b) => b.off - a.off);
  return { fault: chosen, levels, noPoint: faulty.noPoint, stateLost: faulty.stateLost };
}

function key({ condition, point, quantity }: Level): string {
  return JSON.stringify([condition, point, quantity]);
}
