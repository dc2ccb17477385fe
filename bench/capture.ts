/**
 * Reads a capture of 10 million samples on two channels, made in memory in pieces and never whole. Prints the machine, megabytes a
 * second, the same for adding up the bytes of the same pieces in one plain pass, their ratio, and peak memory. Making the pieces
 * is not counted.
 *
 * Goal: 25 MB/s of text on one core. Each form is read in a process of its own, so that memory is its own.
 */
import { execFileSync } from 'node:child_process';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { HEAD_BYTES, textReader, textUnderstanding } from '../src/capture/index.ts';

const SAMPLES = 10_000_000;
const GOAL = 25;
/** Rows made at a time, then handed in again with other times: as large as what a disk gives at once. */
const PIECE_ROWS = 2_000;
const MEGABYTE = 1_000_000;

/** How an instrument may write a row: its number, its time in seconds, and two voltages. */
const FORMS: Record<string, { heading: string; row: (i: number, a: number, b: number) => string }> = {
  'times and two channels, exponents': {
    heading: 'Time,CH1,CH2\ns,V,V\n',
    row: (i, a, b) => `${(i * 1e-7).toExponential(7)},${a.toExponential(5)},${b.toExponential(5)}`,
  },
  'times and two channels, points': {
    heading: 'Time (ms),A (V),B (V)\n',
    row: (i, a, b) => `${(i * 1e-4).toFixed(4)},${a.toFixed(4)},${b.toFixed(4)}`,
  },
  'all digits of a double': {
    heading: 'Time (s),A (V),B (V)\n',
    row: (i, a, b) => `${i * 1e-7},${a},${b}`,
  },
  'decimal commas, semicolons, CR LF': {
    heading: 'Zeit;A;B\r\n(ms);(V);(mV)\r\n',
    row: (i, a, b) =>
      `${(i * 1e-4).toFixed(4)};${a.toFixed(4)};${(b * 1000).toFixed(1)}\r`.replaceAll('.', ','),
  },
};

function piece(form: string, from: number): Uint8Array {
  const { heading, row } = FORMS[form]!;
  let text = from === 0 ? heading : '';
  for (let i = from; i < Math.min(from + PIECE_ROWS, SAMPLES); i++) {
    text += `${row(i, -6 * Math.abs(Math.sin(i / 997)), 0.35 * Math.cos(i / 61))}\n`;
  }
  return new TextEncoder().encode(text);
}

function measure(form: string): string {
  const name = 'bench.csv';
  const { understanding } = textUnderstanding(
    new Uint8Array([0, PIECE_ROWS].flatMap((from) => [...piece(form, from)])).subarray(0, HEAD_BYTES),
    name,
  );
  const reader = textReader(understanding!, name);
  let bytes = 0;
  let reading = 0;
  let adding = 0;
  let sum = 0;
  for (let from = 0; from < SAMPLES; from += PIECE_ROWS) {
    const part = piece(form, from);
    bytes += part.length;
    const start = performance.now();
    reader.push(part);
    const read = performance.now();
    for (let i = 0; i < part.length; i++) sum += part[i]!;
    adding += performance.now() - read;
    reading += read - start;
  }
  const start = performance.now();
  const { capture, findings } = reader.end();
  reading += performance.now() - start;
  if (capture === undefined || findings.length > 0) throw new Error(`not read: ${JSON.stringify(findings)}`);
  const traces = capture.traces;
  if (traces.length !== 2 || traces.some(({ values }) => values.length !== SAMPLES) || sum === 0) {
    throw new Error('the capture was not read whole');
  }
  const rate = bytes / MEGABYTE / (reading / 1000);
  const plain = bytes / MEGABYTE / (adding / 1000);
  const evenly = 'step' in traces[0]!.timebase ? 'evenly spaced' : 'a stamp for each sample';
  const peak = (process.resourceUsage().maxRSS / 1024).toFixed(0);
  return (
    `${form}: ${(bytes / MEGABYTE).toFixed(0)} MB, ${evenly}, ${(reading / 1000).toFixed(1)} s, ` +
    `${rate.toFixed(0)} MB/s (goal ${GOAL}: ${rate >= GOAL ? 'met' : 'NOT met'}); ` +
    `adding up the bytes: ${plain.toFixed(0)} MB/s; ratio ${(plain / rate).toFixed(1)}; peak ${peak} MB`
  );
}

const form = process.argv[2];
if (form !== undefined) console.log(measure(form));
else {
  console.log(`${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}`);
  console.log(`${SAMPLES.toLocaleString('en')} samples of 2 channels`);
  for (const one of Object.keys(FORMS)) {
    const argv = [...process.execArgv, fileURLToPath(import.meta.url), one];
    process.stdout.write(execFileSync(process.execPath, argv, { encoding: 'utf8' }));
  }
}
