/** For tests: a small machine of invented boards, and readings of units whose parts and faults are drawn from a seed. */
import { CircuitSolver, joinedEdits, netlistOf } from '../circuit/index.ts';
import { faultsOfMode } from '../faults/index.ts';
import { type Machine, type Part, type Reading, readMachine } from '../machine/index.ts';
import { type FaultTable, faultTable, tableShare } from './table.ts';

/** A diode gate, two inverters and a follower between -12 V and +6 V; two states. */
const PARTS = `board,ref,kind,type,value,tolerance,pins
A,D1,diode,GE-DIODE,,,a=IN1 k=OR
A,D2,diode,GE-DIODE,,,a=IN2 k=OR
A,R1,resistor,,10k,,1=-12V 2=OR
A,R2,resistor,,4.7k,,1=OR 2=B1
A,R3,resistor,,47k,,1=+6V 2=B1
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1
A,R4,resistor,,2.2k,,1=-12V 2=C1
A,R5,resistor,,8.2k,,1=C1 2=B2
A,R6,resistor,,68k,,1=+6V 2=B2
A,Q2,transistor,GE-PNP,,,e=0V b=B2 c=C2
A,R7,resistor,,1.5k,,1=-12V 2=C2
A,Q3,transistor,GE-PNP,,,e=OUT b=C2 c=-12V
A,R8,resistor,,3.3k,,1=OUT 2=+6V
`;
const CONDITIONS = `condition,net,role,volts,ohms
low,IN1,drive,-6,1k
low,IN2,drive,-6,1k
high,IN1,drive,0,100
high,IN2,drive,-6,1k
`;

export interface TrialFile {
  readonly parts?: string;
  readonly conditions?: string;
  readonly health?: Readonly<Record<string, string>>;
}

/** The machine without readings. */
export function trialMachine(file: TrialFile = {}): Machine {
  const { parts = PARTS, conditions = CONDITIONS, health = { east: 'healthy', west: 'faulty' } } = file;
  const texts = {
    'machine.json': JSON.stringify({
      format: 1,
      name: 'trial',
      summary: 'for tests',
      reference: '0V',
      ambient: 22,
      rails: [
        { net: '-12V', volts: -12, tolerance: 5 },
        { net: '+6V', volts: 6, tolerance: 5 },
      ],
      units: Object.entries(health).map(([id, h]) => ({ id, health: h })),
      instruments: [{ id: 'meter', ohms: 1e7, gain: 0.3, random: 0.2, volts: 0.005 }],
    }),
    'parts.csv': parts,
    'conditions.csv': conditions,
  };
  const bytes = new Map(Object.entries(texts).map(([name, text]) => [name, new TextEncoder().encode(text)]));
  const { machine, findings } = readMachine(bytes);
  if (!machine) throw new Error(`trial machine: ${JSON.stringify(findings)}`);
  return machine;
}

/** Uniform numbers from 0 to 1 (Lehmer's generator). */
function randomNumbers(seed: number): () => number {
  let state = 1 + (Math.abs(Math.trunc(seed)) % 2147483646);
  for (let i = 0; i < 5; i++) state = (state * 48271) % 2147483647;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647;
  };
}
function normal(random: () => number): number {
  return Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
}

export interface Trial {
  readonly unit: string;
  /** Draws the unit's parts and the meter's errors; the same seed, the same unit. */
  readonly seed: number;
  /** `PART:MODE` or `PART:MODE:GRADE` with the number of the severity. */
  readonly faults?: readonly string[];
  readonly takenAt?: string;
  /** Nets and pins; all nets when left out. */
  readonly points?: readonly string[];
}

/**
 * Readings of a unit in all conditions: its parts off by about half of what they may, the fault planted, the meter's own
 * errors added. The description of the unit may be another machine's than the one that is to be diagnosed.
 */
export function trialReadings(machine: Machine, trial: Trial): Reading[] {
  const netlist = netlistOf(machine);
  const solver = new CircuitSolver(netlist);
  const random = randomNumbers(trial.seed);
  solver.setParts(
    Float64Array.from(netlist.parameters, () => 0.6 * normal(random)),
    22,
  );
  const faults = (trial.faults ?? []).map((name) => {
    const [ref, ...mode] = name.split(':');
    const grade = /^\d+$/.test(mode.at(-1)!) ? Number(mode.pop()) : 0;
    const part = machine.parts.find((p): p is Part => p.name === ref)!;
    return faultsOfMode(netlist, part, mode.join(':'))[grade]!;
  });
  const gain = 1 + 0.003 * normal(random);
  const points = trial.points ?? machine.points.map((p) => p.point).filter((p) => !p.includes('/'));
  return machine.conditions.flatMap((condition) => {
    const edit = faults.map((f) => f.edit).reduce(joinedEdits, {});
    const sound = solver.solve(condition);
    const found = solver.solve(condition, { edit, start: sound.volts });
    if (!found.converged) throw new Error(`no operating point in ${condition.name}`);
    return points.map((point): Reading => {
      const open = faults.find((f) => f.pin?.point === point)?.pin;
      let volts: number;
      if (open) {
        const metered = open.metered
          ? solver.solve(condition, { edit: open.metered(1e-7), start: found.volts })
          : found;
        volts = open.volts(metered.volts, 1e-7, metered.opened);
      } else {
        const index = netlist.pinNets.get(point) ?? netlist.netIndex.get(point)!;
        const { ohms } = solver.sensitivities(condition, found.volts, [index], edit);
        volts = (found.volts[index]! * 1e7) / (1e7 + ohms[0]!);
      }
      const value = volts * gain * (1 + 0.002 * normal(random)) + 0.005 * normal(random);
      return {
        unit: trial.unit,
        condition: condition.name,
        point,
        quantity: 'V',
        value: Math.round(value * 1000) / 1000,
        takenAt: trial.takenAt ?? '2024-05-01T10:00',
        instrument: 'meter',
        note: '',
      };
    });
  });
}

/** The machine with readings. */
export function withReadings(machine: Machine, ...readings: readonly (readonly Reading[])[]): Machine {
  return { ...machine, readings: readings.flat() };
}

/** The whole table in one piece. */
export function trialTable(machine: Machine): FaultTable {
  return faultTable(machine, [tableShare(machine, 0, 1)]);
}
