/**
 * The readings of both units, from a seed: each unit drawn from the description, the scenario's faults planted in the
 * south one, and what a person's meter showed, computed by the program's own solver. Start with `demoMachine`.
 */
import { isRunning, type Machine, type Reading } from '../src/machine/index.ts';
import { RUNNING, tideGauge } from './machine/index.ts';
import { MeteredUnit } from './metered-unit.ts';
import { withFault } from './plant.ts';
import { Chance } from './random.ts';
import { type Looks, type ScopeVisit, scopedReadings } from './running-readings.ts';
import { DEFAULT_SCENARIO, type Scenario } from './scenarios.ts';
import { drawnUnit, withOwnStorage } from './unit.ts';

export interface DemoOptions {
  readonly scenario?: Scenario;
  readonly seed?: number;
  /** `evening`: what a person would have by the end of the first evening; `all`: every point in every condition on both units. */
  readonly extent?: 'evening' | 'all';
}

export const DEFAULT_SEED = 1962;

/** The conditions in which a healthy unit is read when the evening's own are fewer than four. */
const USUAL = ['counter 0', '5+3 bit 1', '7+5 bit 4', 'counter 9'];
const METER = 'bench meter';
const SCOPE = 'station scope';
/** What was looked at on the healthy unit with the scope, on the way. */
const SCOPED = ['CK', 'P1', 'P2', 'CNT'];

/** What was looked at on the healthy unit while it ran. */
const RUN: Looks = [
  [
    'clock running',
    'OSC=high,low,average CK=moves,period,width,high,low,rise,fall P1=moves,high,low,rise,fall P2=moves,high,low P1N=width P2N=width PH=moves K1=moves T1=moves T2=moves',
  ],
  [
    'counting from three',
    'BIT1=moves,period,high,low,rise,fall BIT2=moves,period,rise,fall BIT4=moves,rise,fall BIT4N=width BIT8=moves,rise,fall BIT8N=width,rise,fall NINE=moves,Vpp',
  ],
  [
    'adding 5 and 3',
    'A=moves,width,delay:T4 B=moves CARRY=moves,high,low,fall CARRYN=width HELD=moves HELDN=width SUM=moves,delay:T8 OUT=moves,high,low,rise,fall',
  ],
  [
    'float pulse',
    'LNE.T1.2a=moves,Vpp LNE.Q1.c=moves,Vpp LNE.Q2.c=moves,Vpp READ=moves,Vpp,high,low SLICE=moves,Vpp PULSEN=moves,width PULSE=moves,high,low',
  ],
];
/** What is told of any waveform. */
const ANYTHING = 'moves,average,Vpp,high,low,width,period,rise,fall';

/** Seconds from reading to reading, least and most: by hand, and by a scanner, so that all points are read in a day. */
const HAND = [40, 90] as const;
const SCANNER = [3, 6] as const;

/** What was read on either unit in a year when both were sound. */
const EARLIER: readonly (readonly [condition: string, points: string])[] = [
  ['counter 0', '-12V -6V +6V VREF P2 T1 T2 BIT1 NINE A B SUM HELD CARRY OUT READ PULSE'],
  ['7+5 bit 4', 'P2 T4 BIT1 BIT4 A B SUM HELD CARRY OUT'],
];

interface Spot {
  readonly condition: string;
  readonly point: string;
  readonly instrument: string;
}

/** One day at one unit. */
interface Visit {
  readonly unit: string;
  /** Milliseconds since 1970. */
  readonly start: number;
  /** Room at the first reading and its rise in an hour, °C. */
  readonly ambient: number;
  readonly warming: number;
}

const NORTH: Visit = { unit: 'north', start: Date.UTC(2024, 2, 16, 9, 20), ambient: 13, warming: 0.5 };
const EARLIER_VISITS: readonly Visit[] = [
  { unit: 'north', start: Date.UTC(2019, 4, 18, 9, 5), ambient: 16, warming: 0.5 },
  { unit: 'south', start: Date.UTC(2019, 4, 18, 14, 10), ambient: 18, warming: 0.5 },
];
export const NORTH_RUN: ScopeVisit = {
  unit: 'north',
  scope: 'station scope',
  start: Date.UTC(2024, 2, 23, 8, 40),
  ambient: 14,
};
export const SOUTH_RUN: ScopeVisit = {
  unit: 'south',
  scope: 'travelling scope',
  start: Date.UTC(2024, 10, 16, 15, 30),
  ambient: 20,
};
const SOUTH: Visit = { unit: 'south', start: Date.UTC(2024, 10, 9, 17, 40), ambient: 22, warming: 1 };

/** The demo machine with the readings of both units. */
export function demoMachine(options: DemoOptions = {}): Machine {
  const { scenario = DEFAULT_SCENARIO, seed = DEFAULT_SEED, extent = 'evening' } = options;
  const machine = tideGauge();
  const evening = spotsOf(scenario.evening);
  const all = extent === 'all' ? everySpot(machine) : undefined;
  const pace = all ? SCANNER : HAND;
  const north = soundUnit(machine, 'north', seed);
  const sound = soundUnit(machine, 'south', seed);
  const south = scenario.faults.reduce(withFault, sound);
  const earlier = EARLIER_VISITS.flatMap((visit) =>
    visitReadings(machine, visit.unit === 'north' ? north : sound, visit, spotsOf(EARLIER), seed, HAND),
  );
  const everywhere = all ? everyLook(machine) : undefined;
  const second = everywhere ?? scenario.second ?? [];
  return {
    ...machine,
    readings: [
      ...earlier,
      ...visitReadings(machine, north, NORTH, all ?? healthySpots(machine, evening), seed, pace),
      ...scopedReadings(north, NORTH_RUN, everywhere ?? RUN, seed),
      ...visitReadings(machine, south, SOUTH, all ?? evening, seed, pace),
      ...scopedReadings(south, SOUTH_RUN, second, seed),
    ],
  };
}

/** A unit as it was before anything failed. It has its own stream of chance: the healthy unit is the same one in every scenario. */
export function soundUnit(machine: Machine, unit: string, seed: number): Machine {
  const drawn = drawnUnit(machine, new Chance(seed, unit, 'parts'));
  return withOwnStorage(drawn, new Chance(seed, unit, 'storage'));
}

function spotsOf(lists: Scenario['evening']): Spot[] {
  return lists.flatMap(([condition, points]) =>
    points.split(' ').map((point) => ({ condition, point, instrument: METER })),
  );
}

function everySpot(machine: Machine): Spot[] {
  return machine.conditions
    .filter((c) => !isRunning(c))
    .flatMap((c) => machine.points.map((p) => ({ condition: c.name, point: p.point, instrument: METER })));
}

/** All that is told of the waveforms of all nets of the boards that are in. */
function everyLook({ parts, points }: Machine): Looks {
  const listed = new Set(points.map(({ point }) => point));
  return RUNNING.map(({ name, boards }) => {
    const nets = new Set(
      parts.filter(({ board }) => boards.includes(board)).flatMap(({ pins }) => pins.map(({ net }) => net)),
    );
    const looks = [...nets].filter((net) => listed.has(net)).map((net) => `${net}=${ANYTHING}`);
    return [name, looks.join(' ')];
  });
}

/** Every socket in four conditions, those of the evening first, and some with the scope. */
function healthySpots(machine: Machine, evening: readonly Spot[]): Spot[] {
  const conditions = [...new Set([...evening.map((s) => s.condition), ...USUAL])].slice(0, 4);
  const sockets = socketsOf(machine);
  const odd = evening.filter((s) => !sockets.includes(s.point));
  return [
    ...conditions.flatMap((condition) => sockets.map((point) => ({ condition, point, instrument: METER }))),
    ...odd,
    ...SCOPED.map((point) => ({ condition: 'clear held at P1', point, instrument: SCOPE })),
  ];
}

/** The points of a minute, as they lie on the boards. */
function socketsOf({ parts, points }: Machine): string[] {
  const quick = new Set(points.filter((p) => p.minutes === 1).map((p) => p.point));
  const nets = new Set(parts.flatMap((part) => part.pins.map((p) => p.net)));
  return [...nets].filter((net) => quick.has(net));
}

function visitReadings(
  machine: Machine,
  unit: Machine,
  visit: Visit,
  spots: readonly Spot[],
  seed: number,
  pace: readonly [number, number],
): Reading[] {
  const year = new Date(visit.start).getUTCFullYear();
  const chance = new Chance(seed, visit.unit, 'meter', ...(EARLIER_VISITS.includes(visit) ? [year] : []));
  const metered = new MeteredUnit(unit, machine);
  // An instrument's gain error is one for the day.
  const gains = new Map(
    machine.instruments
      .filter(({ id }) => id === METER || id === SCOPE)
      .map((i) => [i.id, 1 + (i.gain / 100) * chance.normal()]),
  );
  let clock = visit.start;
  return spots.map(({ condition, point, instrument: id }) => {
    const instrument = machine.instruments.find((i) => i.id === id)!;
    clock += Math.round(pace[0] + (pace[1] - pace[0]) * chance.uniform()) * 1000;
    const hours = (clock - visit.start) / 3.6e6;
    // The room is noted to the degree; it settles after two hours.
    const ambient = Math.round(visit.ambient + visit.warming * Math.min(2, hours));
    const volts = metered.reading(condition, point, instrument.ohms, ambient);
    const shown =
      volts * gains.get(id)! * (1 + (instrument.random / 100) * chance.normal()) +
      instrument.volts * chance.normal();
    return {
      unit: visit.unit,
      condition,
      point,
      quantity: 'V',
      value: displayed(shown),
      takenAt: new Date(clock).toISOString().replace('.000', ''),
      ambient,
      instrument: id,
      note: '',
    };
  });
}

/** A display of 2,000 counts in ranges of 2, 20 and 200 V. */
function displayed(volts: number): number {
  const size = Math.abs(volts);
  const decimals = size < 1.9995 ? 3 : size < 19.995 ? 2 : 1;
  // Adding 0 turns a negative zero into a plain one.
  return Number(volts.toFixed(decimals)) + 0;
}
