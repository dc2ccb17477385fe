/** For tests: a small machine that runs, and what an oscilloscope would show of units whose parts and faults are drawn from a seed. */
import { CircuitSolver, type Netlist, netlistOf, storageOf } from '../circuit/index.ts';
import {
  courseLike,
  drawnDeviations,
  faultsOfMode,
  figureOf,
  ROW,
  soundCourse,
  writeFigures,
} from '../faults/index.ts';
import { type Machine, type Reading, readMachine } from '../machine/index.ts';
import { usualSigma } from './running-datum.ts';

/**
 * Two clock phases. PH1 drives an amplifier through a capacitor, Q1 with P1, and that an inverter, Q2 with P2; PH2 an inverter with a
 * speed-up capacitor, Q3 with S1, and that another one without, Q4 with S2.
 */
const PARTS = `board,ref,kind,type,value,pins
A,C1,capacitor,,4.7n,1=PH1 2=B1
A,R1,resistor,,33k,1=B1 2=-12V
A,Q1,transistor,GE-PNP,,e=0V b=B1 c=P1
A,R2,resistor,,3.3k,1=-12V 2=P1
A,D1,diode,GE-DIODE,,a=-6V k=P1
A,R3,resistor,,10k,1=P1 2=B2
A,R4,resistor,,68k,1=+6V 2=B2
A,Q2,transistor,GE-PNP,,e=0V b=B2 c=P2
A,R5,resistor,,3.3k,1=-12V 2=P2
A,R6,resistor,,6.8k,1=PH2 2=B3
A,C2,capacitor,,330p,1=PH2 2=B3
A,R7,resistor,,47k,1=+6V 2=B3
A,Q3,transistor,GE-PNP,,e=0V b=B3 c=S1
A,R8,resistor,,2.2k,1=-12V 2=S1
A,D2,diode,GE-DIODE,,a=-6V k=S1
A,R9,resistor,,6.8k,1=S1 2=B4
A,R10,resistor,,47k,1=+6V 2=B4
A,Q4,transistor,GE-PNP,,e=0V b=B4 c=S2
A,R11,resistor,,2.2k,1=-12V 2=S2
`;
const CONDITIONS = `condition,net,role,volts,ohms,wave
halted,PH1,drive,-6,470,
halted,PH2,drive,-6,470,
running,PH1,drive,,470,pulses low=-6 high=0 width=10u period=50u edge=0.3u delay=2u
running,PH2,drive,,470,pulses low=-6 high=0 width=10u period=50u edge=0.3u delay=27u
`;

/** @param parts  of parts.csv, in place of the machine's own */
export function runningMachine(parts = PARTS, conditions = CONDITIONS, flow?: string): Machine {
  const texts: Record<string, string> = {
    'machine.json': JSON.stringify({
      format: 1,
      name: 'two phases',
      reference: '0V',
      rails: [
        { net: '-12V', volts: -12, tolerance: 3 },
        { net: '-6V', volts: -6, tolerance: 3 },
        { net: '+6V', volts: 6, tolerance: 3 },
      ],
      units: [
        { id: 'east', health: 'healthy' },
        { id: 'west', health: 'faulty' },
      ],
    }),
    'parts.csv': parts,
    'conditions.csv': conditions,
    ...(flow === undefined ? {} : { 'flow.csv': flow }),
  };
  const bytes = new Map(Object.entries(texts).map(([name, text]) => [name, new TextEncoder().encode(text)]));
  const { machine, findings } = readMachine(bytes);
  if (!machine || findings.some(({ severity }) => severity === 'error'))
    throw new Error(JSON.stringify(findings));
  return machine;
}

/** Units beyond those that the table's spread is drawn from. */
const OTHER_UNITS = 1000;

/** What is read of a unit in the running state: quantities at points, as `S1 rise`. A quantity that its waveform lacks is not read. */
export function shownBy(
  machine: Machine,
  unit: string,
  seed: number,
  fault: string | undefined,
  wanted: readonly string[],
  condition = 'running',
): Reading[] {
  const netlist: Netlist = netlistOf(machine);
  const solver = new CircuitSolver(netlist);
  solver.setParts(undefined, machine.ambient);
  const state = machine.conditions.find(({ name }) => name === condition)!;
  const sound = soundCourse(solver, state)!;
  const storageDeviations = new Float64Array(storageOf(netlist).parameters.length);
  solver.setParts(drawnDeviations(netlist, OTHER_UNITS + seed, storageDeviations), machine.ambient);
  const [part, mode, grade = '0'] = fault?.split(':') ?? [];
  const chosen =
    part === undefined
      ? undefined
      : faultsOfMode(netlist, machine.parts.find(({ name }) => name === part)!, mode!)[Number(grade)]!;
  const course = courseLike(solver, state, sound, {
    storageDeviations,
    ...(chosen && { edit: chosen.edit }),
  });
  if (course === undefined) throw new Error(`${fault} cannot be followed`);
  const rowOf = (net: string): Float32Array => {
    const row = new Float32Array(ROW);
    writeFigures(course.instants, course.volts[netlist.netIndex.get(net)!]!, row, 0);
    return row;
  };
  return wanted.flatMap((words): Reading[] => {
    const [point, quantity] = words.split(' ') as [string, string];
    const from = quantity.startsWith('delay:') ? rowOf(quantity.slice(6)) : undefined;
    const shown = figureOf(quantity, rowOf(point), from);
    if (Number.isNaN(shown)) return [];
    // A third of the usual uncertainty, this way or that.
    const sign = (seed + point.length + quantity.length) % 2 === 0 ? 1 : -1;
    const value =
      quantity === 'moves' ? (shown > 0.15 ? 1 : 0) : shown + (sign * usualSigma(quantity, shown)) / 3;
    return [{ unit, condition, point, quantity, value, takenAt: '1970-03-04', instrument: '', note: '' }];
  });
}
