/**
 * A counter of twelve transistors over 1,000 clock edges: time steps a second, and how near they come to a loop that only
 * evaluates the same devices as often. Run with `npx tsx bench/transient.ts`.
 */
import { cpus } from 'node:os';
import { charged, chargedJunction, depletion, depletionCharge } from '../src/circuit/devices/charge.ts';
import {
  CircuitSolver,
  type DriveWave,
  netlistOf,
  storageOf,
  type Transient,
  transient,
  transistor,
  transistorCurrents,
} from '../src/circuit/index.ts';
import { readMachine } from '../src/machine/index.ts';

const EDGES = 1000;
const PERIOD = 100e-6;
const ROUNDS = 5;
const PAIRS = 6;

/** Flip-flops with diode-capacitor steering, each clocked by the one before; the first by CK. */
function counter(): ReturnType<typeof readMachine>['machine'] {
  const rows = ['board,ref,kind,type,value,tolerance,pins,note'];
  const part = (ref: string, kind: string, type: string, value: string, pins: string): void => {
    rows.push(`A,${ref},${kind},${type},${value},10,${pins},`);
  };
  for (let i = 0; i < PAIRS; i++) {
    const clock = i === 0 ? 'CK' : `F${i - 1}n`;
    for (const [own, other] of [
      ['p', 'n'],
      ['n', 'p'],
    ] as const) {
      const out = `F${i}${own}`;
      const from = `F${i}${other}`;
      part(`Q${out}`, 'transistor', '2N1305', '', `e=0V b=b${out} c=${out}`);
      part(`Rs${out}`, 'resistor', '', '6k8', `1=${from} 2=b${out}`);
      part(`Cs${out}`, 'capacitor', '', '220p', `1=${from} 2=b${out}`);
      part(`Rb${out}`, 'resistor', '', '47k', `1=b${out} 2=+6V`);
      part(`Rl${out}`, 'resistor', '', '3k3', `1=${out} 2=-12V`);
      part(`Dc${out}`, 'diode', 'GE-DIODE', '', `a=-6V k=${out}`);
      part(`Ct${out}`, 'capacitor', '', '1n', `1=t${out} 2=${clock}`);
      part(`Rt${out}`, 'resistor', '', '22k', `1=t${out} 2=${out}`);
      part(`Dt${out}`, 'diode', 'GE-DIODE', '', `a=t${out} k=b${out}`);
    }
  }
  const text = (content: string): Uint8Array => new TextEncoder().encode(content);
  const rails = [
    ['-12V', -12],
    ['-6V', -6],
    ['+6V', 6],
  ].map(([net, volts]) => ({ net, volts, tolerance: 5 }));
  const { machine, findings } = readMachine(
    new Map([
      ['machine.json', text(JSON.stringify({ format: 1, name: 'counter', reference: '0V', rails }))],
      ['parts.csv', text(`${rows.join('\n')}\n`)],
    ]),
  );
  if (!machine) throw new Error(JSON.stringify(findings));
  return machine;
}

const solver = new CircuitSolver(netlistOf(counter()!));
const { netlist, values } = solver;
const wave: DriveWave = {
  kind: 'pulses',
  low: -6,
  high: 0,
  delay: 5e-6,
  width: PERIOD / 2,
  period: PERIOD,
  edge: 'linear',
  rise: 1e-6,
  fall: 1e-6,
};
const net = (name: string): number => netlist.netIndex.get(name)!;
const hints = Array.from({ length: PAIRS }, (_, i) => [
  { net: `F${i}p`, volts: -6 },
  { net: `F${i}n`, volts: 0 },
]).flat();
const run = (): Transient =>
  transient(solver, {
    drives: [{ net: 'CK', wave, ohms: 470 }],
    hints,
    from: 0,
    to: (EDGES / 2) * PERIOD,
    probes: Array.from({ length: PAIRS }, (_, i) => net(`F${i}p`)),
    thin: 0.02,
  });

/** Every device with its charges, `times` over, at voltages that move a little as they do in steps; a sum so that all is needed. */
function devicesOnly(times: number): number {
  const storage = storageOf(netlist);
  const bare = values.junctions.map((j) => ({ ...j, rs: 0 }));
  let sum = 0;
  for (let k = 0; k < times; k++) {
    const move = 1e-3 * ((k * 0.618034) % 1);
    for (let i = 0; i < values.transistors.length; i++) {
      const on = i % 2 === 0;
      const be = on ? 0.2 + move : -1 - move;
      const bc = on ? 0.15 - move : -7 + move;
      transistorCurrents(values.transistors[i]!, be, bc);
      depletionCharge(storage.transistors[i]!.emitter, be);
      sum += depletion.q;
      depletionCharge(storage.transistors[i]!.collector, bc);
      sum += depletion.c + transistor.current[1]! + transistor.jacobian[4]!;
    }
    for (let i = 0; i < bare.length; i++) {
      const d = i % 2 === 0 ? 0.25 + move : -3 - move;

      const { layer, transit } = storage.junctions[i]!;
      chargedJunction(bare[i]!, layer, transit, d);
      sum += charged.q + charged.i;
    }
  }
  return sum;
}

console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}`);
const first = run();
if (!first.converged) throw new Error(`${first.why} at ${first.end.at} s: ${JSON.stringify(first.worst)}`);
const flips = first.volts.map((v) => {
  let count = 0;
  for (let i = 1; i < v.length; i++) if (v[i - 1]! < -3 !== v[i]! < -3) count++;
  return count;
});
console.log(
  `${netlist.transistors.length} transistors, ${netlist.junctions.length} diodes, ${netlist.nets.length} nets; ` +
    `${EDGES} edges, changes of the stages: ${flips.join(' ')}`,
);
console.log(
  `${first.steps} steps, ${first.rejected} tried in vain, ${first.iterations} Newton iterations, ${first.instants.length} samples kept`,
);
devicesOnly(first.iterations);
const ours: number[] = [];
const ideal: number[] = [];
for (let round = 0; round < ROUNDS; round++) {
  const begin = performance.now();
  run();
  const middle = performance.now();
  devicesOnly(first.iterations);
  ours.push(middle - begin);
  ideal.push(performance.now() - middle);
}
const median = (list: number[]): number => list.sort((a, b) => a - b)[list.length >> 1]!;
const [mine, best] = [median(ours), median(ideal)];
console.log(
  `all: ${mine.toFixed(0)} ms, ${(first.steps / mine / 1e3).toFixed(3)} million steps a second, ${((mine * 1e3) / first.iterations).toFixed(2)} us an iteration`,
);
console.log(
  `the same devices alone: ${best.toFixed(0)} ms, ${((best * 1e3) / first.iterations).toFixed(2)} us; reached ${((100 * best) / mine).toFixed(0)} % of that speed`,
);
