/**
 * The fault table of a running board of twelve transistors: a clock, a counter of two flip-flops, eight inverters with speed-up
 * capacitors behind it. Run with `npx tsx bench/running.ts`.
 *
 * The yardstick: as many times two periods of the sound circuit as there are different circuits, which is what a run would take if
 * every fault settled at once. Goal: 30 s on two cores, which is 60 s of one.
 */
import { cpus } from 'node:os';
import { CircuitSolver, netlistOf } from '../src/circuit/index.ts';
import { faultTable, tableShare } from '../src/diagnosis/index.ts';
import { courseLike, faultHypotheses, soundCourse } from '../src/faults/index.ts';
import { type Machine, readMachine } from '../src/machine/index.ts';

const LEAST_PERIODS = 2;

/** Processor time of this process, seconds: others may be at work, too. */
function seconds(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1e6;
}

function board(): Machine {
  const rows = ['board,ref,kind,type,value,tolerance,pins,note'];
  const part = (ref: string, kind: string, type: string, value: string, pins: string): void => {
    rows.push(`A,${ref},${kind},${type},${value},10,${pins},`);
  };
  const stage = (name: string, from: string): void => {
    part(`Q${name}`, 'transistor', '2N1305', '', `e=0V b=b${name} c=${name}`);
    part(`Rs${name}`, 'resistor', '', '6k8', `1=${from} 2=b${name}`);
    part(`Cs${name}`, 'capacitor', '', '220p', `1=${from} 2=b${name}`);
    part(`Rb${name}`, 'resistor', '', '47k', `1=b${name} 2=+6V`);
    part(`Rl${name}`, 'resistor', '', '3k3', `1=${name} 2=-12V`);
    part(`Dc${name}`, 'diode', 'GE-DIODE', '', `a=-6V k=${name}`);
  };
  for (let i = 0; i < 2; i++) {
    const clock = i === 0 ? 'CK' : `F${i - 1}n`;
    for (const [own, other] of [
      ['p', 'n'],
      ['n', 'p'],
    ]) {
      const out = `F${i}${own}`;
      stage(out, `F${i}${other}`);
      part(`Ct${out}`, 'capacitor', '', '1n', `1=t${out} 2=${clock}`);
      part(`Rt${out}`, 'resistor', '', '22k', `1=t${out} 2=${out}`);
      part(`Dt${out}`, 'diode', 'GE-DIODE', '', `a=t${out} k=b${out}`);
    }
  }
  for (let i = 0; i < 8; i++) stage(`I${i}`, i < 4 ? ['F0p', 'F0n', 'F1p', 'F1n'][i]! : `I${i - 4}`);
  const text = (content: string): Uint8Array => new TextEncoder().encode(content);
  const rails = [
    ['-12V', -12],
    ['-6V', -6],
    ['+6V', 6],
  ].map(([net, volts]) => ({ net, volts, tolerance: 5 }));
  const hints = ['F0p', 'F1p'].map((net) => `run,${net},hint,-6,,\n`).join('');
  const { machine, findings } = readMachine(
    new Map([
      ['machine.json', text(JSON.stringify({ format: 1, name: 'board', reference: '0V', rails }))],
      ['parts.csv', text(`${rows.join('\n')}\n`)],
      [
        'conditions.csv',
        text(
          `condition,net,role,volts,ohms,wave\nrun,CK,drive,,470,pulses low=-6 high=0 width=50u period=100u delay=5u edge=1u\n${hints}`,
        ),
      ],
    ]),
  );
  if (!machine || findings.some(({ severity }) => severity === 'error'))
    throw new Error(JSON.stringify(findings));
  return machine;
}

const machine = board();
const netlist = netlistOf(machine);
const solver = new CircuitSolver(netlist);
solver.setParts(undefined, 22);
console.log(`${cpus()[0]?.model ?? 'unknown processor'}, ${cpus().length} cores, Node ${process.version}`);
const [run] = machine.conditions;
const sound = soundCourse(solver, run!);
if (sound === undefined) throw new Error('the sound board cannot be followed');
const faults = faultHypotheses(netlist).flatMap((h) => h.faults);
const circuits = new Set(faults.map(({ part, edit }) => `${part} ${JSON.stringify(edit)}`)).size;
console.log(
  `${netlist.transistors.length} transistors, ${netlist.nets.length} nets, ${faults.length} faults, ${circuits} circuits; ` +
    `repeats after ${((sound.span.to - sound.span.from) * 1e6).toFixed(0)} us, ${sound.steps} steps, settled: ${sound.settled}`,
);
const times: number[] = [];
for (let k = 0; k < 5; k++) {
  const begin = seconds();
  courseLike(solver, run!, sound, {});
  times.push(seconds() - begin);
}
const one = times.sort((a, b) => a - b)[2]!;
const begin = seconds();
const share = tableShare(machine, 0, 1);
const all = seconds() - begin;
const table = faultTable(machine, [share]);
const unknown = faults.filter((_, f) => !table.running!.known(f, 0)).length;
const still = faults.filter(
  (_, f) => table.running!.known(f, 0) && !netlist.nets.some((_n, net) => table.running!.moves(f, 0, net)),
).length;
console.log(`the sound circuit again: ${(1000 * one).toFixed(0)} ms`);
console.log(
  `table: ${all.toFixed(1)} s of processor time, ${((1000 * all) / circuits).toFixed(0)} ms a circuit; ` +
    `yardstick (at least ${LEAST_PERIODS} periods of the sound circuit each) ${(circuits * one).toFixed(1)} s`,
);
console.log(
  `not followed: ${unknown}; move nothing: ${still}; kept: ${(table.toBytes().length / 1e6).toFixed(1)} MB`,
);
