/**
 * Checks a folder of 20,000 parts and 100,000 readings, and refuses 100 MB of garbage. Prints the machine, medians, the ratio to a
 * general CSV reader that only parts the same bytes into cells, and peak memory.
 *
 * The folder is read from memory. Limit: 2 s.
 */
import { cpus } from 'node:os';
import { parse } from 'csv-parse/sync';
import { MACHINE_FILES, readMachine } from '../src/machine/index.ts';

const STAGES = 2_000;
const READINGS = 100_000;
const RUNS = 9;
const LIMIT_MS = 2_000;

/** Ten parts a stage: an inverter with two diode inputs and what goes with it, each stage driving the next. */
function partsText(): string {
  const rows = ['board,ref,kind,type,value,tolerance,pins,note'];
  for (let i = 0; i < STAGES; i++) {
    const board = `B${Math.floor(i / 40)}`;
    const [input, or, base, out] = [`S${i}`, `OR${i}`, `BASE${i}`, `S${i + 1}`];
    const row = (ref: string, kind: string, type: string, value: string, pins: string): void => {
      rows.push(`${board},${ref}${i},${kind},${type},${value},,${pins},`);
    };
    row('D1_', 'diode', 'GE-DIODE', '', `a=${or} k=${input}`);
    row('D2_', 'diode', '1N34A', '', `a=${or} k=CLOCK`);
    row('R1_', 'resistor', '', '10k', `1=-12V 2=${or}`);
    row('R2_', 'resistor', '', '4K7', `1=${or} 2=${base}`);
    row('C1_', 'capacitor', '', '330p', `1=${or} 2=${base}`);
    row('R3_', 'resistor', '', '47k', `1=+6V 2=${base}`);
    row('Q1_', 'transistor', '2N1305', '', `e=0V b=${base} c=${out}`);
    row('R4_', 'resistor', '', '2.2k', `1=-12V 2=${out}`);
    row('D3_', 'diode', 'GE-DIODE', '', `a=-6V k=${out}`);
    row('C2_', 'capacitor', '', '100n', '1=0V 2=-12V');
  }
  return `${rows.join('\n')}\n`;
}

function readingsText(): string {
  const rows = ['unit,condition,point,quantity,value,uncertainty,taken_at,ambient,instrument,note'];
  for (let i = 0; i < READINGS; i++) {
    const stage = (i * 7) % STAGES;
    const point = i % 3 === 0 ? `B${Math.floor(stage / 40)}/Q1_${stage}.c` : `S${stage + 1}`;
    const value = (-((i * 37) % 1200) / 100).toFixed(2);
    const day = `20${10 + (i % 14)}-0${1 + (i % 9)}-${10 + (i % 18)}T1${i % 10}:${10 + (i % 50)}`;
    rows.push(
      `${i % 2 === 0 ? 'east' : 'west'},state ${i % 10},${point},V,${value},0.05,${day},21.5,meter A,`,
    );
  }
  return `${rows.join('\n')}\n`;
}

function folder(): Map<string, Uint8Array> {
  const json = {
    format: 1,
    name: 'bench',
    summary: '',
    reference: '0V',
    ambient: 22,
    rails: ['-12V', '-6V', '+6V'].map((net) => ({ net, volts: Number.parseFloat(net), tolerance: 5 })),
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
    instruments: [{ id: 'meter A', ohms: 1e7, gain: 0.5, random: 0.3, volts: 0.005 }],
  };
  const states = Array.from(
    { length: 10 },
    (_, i) => `state ${i},S0,drive,${-i},1k\nstate ${i},CLOCK,drive,-6,\n`,
  );
  const texts = {
    'machine.json': JSON.stringify(json),
    'parts.csv': partsText(),
    'conditions.csv': `condition,net,role,volts,ohms\n${states.join('')}`,
    'readings.csv': readingsText(),
  };
  return new Map(Object.entries(texts).map(([file, text]) => [file, new TextEncoder().encode(text)]));
}

function medianMs(work: () => void): number {
  const times = Array.from({ length: RUNS }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
  return times.sort((a, b) => a - b)[RUNS >> 1]!;
}

function peakMegabytes(): string {
  return `${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB`;
}

console.log(`${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}`);
const files = folder();
const megabytes = [...files.values()].reduce((sum, bytes) => sum + bytes.length, 0) / 1048576;
console.log(
  `folder: ${STAGES * 10} parts, ${READINGS} readings, ${megabytes.toFixed(1)} MB; memory before: ${peakMegabytes()}`,
);

const start = performance.now();
const { machine, findings } = readMachine(files);
const first = performance.now() - start;
if (machine?.parts.length !== STAGES * 10 || machine.readings.length !== READINGS) {
  throw new Error('the folder was not read whole');
}
const errors = findings.filter(({ severity }) => severity === 'error');
if (errors.length > 0) throw new Error(`a sound folder gave an error: ${errors[0]!.message}`);
console.log(`check: first ${first.toFixed(0)} ms, peak ${peakMegabytes()}`);
const check = medianMs(() => readMachine(files));
const yardstick = medianMs(() => {
  for (const [file, bytes] of files) if (file.endsWith('.csv')) parse(bytes);
});
console.log(
  `check: median ${check.toFixed(0)} ms of ${RUNS} (limit ${LIMIT_MS}); csv-parse, cells only: ${yardstick.toFixed(0)} ms; ratio ${(check / yardstick).toFixed(2)}; peak ${peakMegabytes()}`,
);

/** Garbage of many kinds, each in the place of every file. */
const SIZE = 100 * 1048576;
const filled = (fill: (i: number) => number, size = SIZE): Uint8Array => {
  const bytes = new Uint8Array(size);
  let state = 1;
  for (let i = 0; i < size; i++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    bytes[i] = fill(state >>> 8);
  }
  return bytes;
};
const withHeader = (bytes: Uint8Array): Uint8Array => {
  bytes.set(
    new TextEncoder().encode('board,ref,kind,type,value,tolerance,pins,note,unit,condition,point,quantity\n'),
  );
  return bytes;
};
const letters = ',,,"\n;=abcdefghijklm0123456789. ';
const kinds: [string, () => Uint8Array][] = [
  ['random bytes', () => filled((n) => n & 255)],
  ['random letters', () => filled((n) => letters.charCodeAt(n % letters.length))],
  ['one line of one letter', () => filled(() => 97)],
  [
    '60 MB of letters under a good heading',
    () => withHeader(filled((n) => letters.charCodeAt(n % letters.length), 60 * 1048576)),
  ],
  ['60 MB of commas under a good heading', () => withHeader(filled(() => 44, 60 * 1048576))],
  ['60 MB of quotation marks under a good heading', () => withHeader(filled(() => 34, 60 * 1048576))],
  ['60 MB of line ends under a good heading', () => withHeader(filled(() => 10, 60 * 1048576))],
];
for (const [name, make] of kinds) {
  const bytes = make();
  const before = performance.now();
  const { findings } = readMachine(new Map(MACHINE_FILES.map((file) => [file, bytes])));
  const took = performance.now() - before;
  console.log(
    `garbage in all ${MACHINE_FILES.length} files, ${name}: ${took.toFixed(0)} ms, ${findings.length} findings, peak ${peakMegabytes()}`,
  );
}
