/** The record under processes that are killed, and under several that write at once: real ones, on a real file. */

import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Sqlite from 'better-sqlite3';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openRecord } from '../../src/records/index.ts';
import { CAPTURE_ROWS, captureText, captureVolts } from './capture-text.ts';

const ROOT = fileURLToPath(new URL('../..', import.meta.url));
/** In the checkout, from where the store's compiled code is found. */
const WRITER = join(ROOT, '.cache', `record-writer-${process.pid}`, 'writer.mjs');
/** How often a process is killed; as often as is asked for by the environment, else until the time is up. */
const KILLS = Number(process.env.SISTERBOARD_KILLS ?? 300);
const MOST_MS = process.env.SISTERBOARD_KILLS === undefined ? 14_000 : Number.POSITIVE_INFINITY;
const LANES = 3;
/** Killed while a capture is taken in. */
const CAPTURE_KILLS = 30;
/** A new record now and then, so that its making is interrupted, too. */
const KILLS_A_RECORD = 20;
/** One in so many is killed while it starts, opens the record and makes what is missing; the others among their changes. */
const EARLY = 4;
/** The others are killed after so many changes at most, and so many milliseconds: about as long as one change takes. */
const MOST_CHANGES = 8;
const CHANGE_MS = 8;

let place: string;
beforeAll(async () => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  mkdirSync(join(WRITER, '..'), { recursive: true });
  await build({
    entryPoints: [fileURLToPath(new URL('record-writer.ts', import.meta.url))],
    ...{ outfile: WRITER, bundle: true, platform: 'node', format: 'esm', target: 'node20' },
    external: ['better-sqlite3'],
    logLevel: 'warning',
  });
});
afterAll(() => {
  rmSync(place, { recursive: true });
  rmSync(join(WRITER, '..'), { recursive: true });
});

interface Writer {
  readonly child: ChildProcess;
  /** What it has confirmed, line by line, once it has ended. */
  readonly ended: Promise<{ lines: Record<string, unknown>[]; error: string; code: number | null }>;
}

function writer(...args: readonly string[]): Writer {
  const child = spawn(process.execPath, [WRITER, ...args], { stdio: ['ignore', 'pipe', 'pipe'] });
  let out = '';
  let error = '';
  child.stdout!.setEncoding('utf8').on('data', (text: string) => {
    out += text;
  });
  child.stderr!.setEncoding('utf8').on('data', (text: string) => {
    error += text;
  });
  const ended = new Promise<Awaited<Writer['ended']>>((resolve) => {
    child.on('close', (code) => {
      const lines = out.split('\n').slice(0, -1);
      resolve({ lines: lines.map((line) => JSON.parse(line) as Record<string, unknown>), error, code });
    });
  });
  return { child, ended };
}

const clock = () => new Date();

/** Holds a record against what was confirmed; answers what is missing or half-written. */
async function astray(file: string, confirmed: readonly Record<string, unknown>[]): Promise<string[]> {
  const wrong: string[] = [];
  const record = await openRecord(file, { clock, create: true });
  const machines = await record.machines();
  const told = confirmed.some((line) => 'ready' in line);
  if (machines.length > 1 || (told && machines.length === 0)) wrong.push(`${machines.length} machines`);
  const [machine] = machines;
  if (machine !== undefined) {
    const { id } = machine;
    const readings = new Map((await record.readings(id)).map((one) => [one.id, one]));
    const boards = (await record.sheet(id, 'boards')).rows.map(({ cells }) => cells.board!);
    const entries = new Map((await record.log(id)).map((one) => [one.id, one]));
    const changes = new Map((await record.changes(id, 1e6)).map((one) => [one.id, one]));
    for (const line of confirmed) {
      const found =
        'reading' in line
          ? readings.get(line.reading as number)?.value === line.value
          : 'boards' in line
            ? boards.includes(`${line.boards}-left`)
            : 'entry' in line
              ? entries.get(line.entry as string)?.text === line.mark
              : 'undone' in line
                ? changes.get(line.undone as number)?.undoneBy !== undefined
                : true;
      if (!found) wrong.push(`confirmed and not there: ${JSON.stringify(line)}`);
    }
    // Whatever is there is there whole: both of a pair, and the machine at the revision of its last change.
    const ends = (end: string) =>
      boards.flatMap((board) => (board.endsWith(end) ? [board.slice(0, -end.length)] : [])).sort();
    if (ends('-left').join() !== ends('-right').join()) wrong.push('half a pair');
    if ((await record.machine(id)).revision !== Math.max(...changes.keys())) wrong.push('revision');
  }
  await record.close();
  const db = new Sqlite(file);
  const check = db.pragma('integrity_check', { simple: true });
  if (check !== 'ok') wrong.push(String(check));
  const orphans = db.prepare('SELECT count(*) FROM change_rows WHERE change NOT IN (SELECT id FROM changes)');
  if (orphans.pluck().get() !== 0) wrong.push('a history without its change');
  db.close();
  return wrong;
}

/** What of the captures that stand is not whole, and the numbers of all. */
async function captureFaults(file: string): Promise<{ wrong: string[]; numbers: Set<number> }> {
  const wrong: string[] = [];
  const record = await openRecord(file, { clock, create: true });
  const [machine] = await record.machines();
  const entries = machine === undefined ? [] : await record.captures(machine.id);
  const files = machine === undefined ? new Map() : await record.folder(machine.id);
  for (const entry of entries.slice(0, 2)) {
    const number = Number(entry.note);
    const text = new TextDecoder().decode(files.get(`captures/${entry.file}`));
    if (text !== captureText(number)) wrong.push(`${entry.file} is not as it came`);
    const trace = await record.captureTrace(machine!.id, entry.id, 0);
    const sound =
      'values' in trace &&
      trace.values.length === CAPTURE_ROWS &&
      trace.values.every((volts, i) => volts === Math.fround(captureVolts(number, i)));
    if (!sound) wrong.push(`samples of ${entry.file}`);
  }
  for (const { file: name, size, channels } of entries) {
    const [channel] = channels;
    if (channels.length !== 1 || channel!.samples !== CAPTURE_ROWS || channel!.point !== 'OUT' || size === 0)
      wrong.push(`${name}: ${JSON.stringify(channels)}`);
  }
  await record.close();
  const db = new Sqlite(file);
  const count = (sql: string) => db.prepare(`SELECT count(*) FROM ${sql}`).pluck().get() as number;
  if (count('capture_files') !== entries.length) wrong.push('a file without its row');
  if (count('capture_pieces WHERE channel = 1') !== entries.length) wrong.push('pieces');
  if (db.pragma('integrity_check', { simple: true }) !== 'ok') wrong.push('integrity');
  db.close();
  return { wrong, numbers: new Set(entries.map(({ note }) => Number(note))) };
}

interface Lane {
  readonly wrong: string[];
  kills: number;
  confirmed: number;
  /** Killed after they had confirmed a change. */
  late: number;
}

/** Kills one writer after another on records of its own. */
async function lane(number: number, kills: number): Promise<Lane> {
  const sum: Lane = { wrong: [], kills: 0, confirmed: 0, late: 0 };
  const began = performance.now();
  let startUp = 100;
  let all: Record<string, unknown>[] = [];
  for (let kill = 0; kill < kills && performance.now() - began < MOST_MS; kill++) {
    const file = join(place, `lane-${number}-${Math.floor(kill / KILLS_A_RECORD)}`);
    if (kill % KILLS_A_RECORD === 0) all = [];
    const started = performance.now();
    const { child, ended } = writer('changes', file, `k${kill}`);
    // Evenly over its life, without chance.
    const share = (kill * 0.618034 + number / LANES) % 1;
    const end = (after: number) => setTimeout(() => child.kill('SIGKILL'), after);
    if (kill % EARLY === EARLY - 1) end(startUp * (0.5 + share / 2));
    else {
      let heard = 0;
      child.stdout!.once('data', () => {
        startUp = performance.now() - started;
      });
      child.stdout!.on('data', (text: string) => {
        const before = heard;
        heard += text.split('\n').length - 1;
        const enough = 1 + (kill % MOST_CHANGES);
        if (before < enough && heard >= enough) end(share * CHANGE_MS);
      });
    }
    const { lines, error } = await ended;
    if (error !== '') sum.wrong.push(error);
    all.push(...lines);
    sum.kills++;
    sum.confirmed += lines.length;
    if (lines.length > 1) sum.late++;
    sum.wrong.push(...(await astray(file, all)));
  }
  return sum;
}

describe('a process that writes to the record', () => {
  it(
    'killed at any instant, again and again, loses nothing that was confirmed and leaves nothing half-written',
    async () => {
      const lanes = await Promise.all(
        Array.from({ length: LANES }, (_, i) => lane(i, Math.ceil(KILLS / LANES))),
      );
      expect(lanes.flatMap(({ wrong }) => wrong)).toEqual([]);
      const sum = (of: (one: Lane) => number) => lanes.reduce((all, one) => all + of(one), 0);
      // Enough were killed in the midst of changes for this to mean something.
      expect(sum(({ late }) => late)).toBeGreaterThan(sum(({ kills }) => kills) / 4);
      if (process.env.SISTERBOARD_KILLS)
        console.info(
          `${sum(({ kills }) => kills)} killed, ${sum(({ late }) => late)} in the midst of changes`,
        );
    },
    60_000 + KILLS * 1000,
  );

  it(
    'killed while it takes captures in leaves each of them whole, or nothing of it',
    async () => {
      const file = join(place, 'captures');
      const wrong: string[] = [];
      const confirmed = new Set<number>();
      let [next, whole, midway] = [0, 0, 0];
      let usual = 300;
      for (let kill = 0; kill < CAPTURE_KILLS; kill++) {
        const { child, ended } = writer('captures', file, 'c', String(next));
        let [ready, heard] = [0, 0];
        // Within the time that the first or the second capture takes: while it is read, packed, or written.
        const share = (kill * 0.618034) % 1;
        child.stdout!.on('data', (text: string) => {
          const now = performance.now();
          const before = heard;
          heard += text.split('\n').length - 1;
          if (before === 0) ready = now;
          else if (before === 1) usual = now - ready;
          if (before === 0) setTimeout(() => child.kill('SIGKILL'), share * 2 * usual);
        });
        const { lines, error } = await ended;
        if (error !== '') wrong.push(error);
        for (const line of lines) if ('number' in line) confirmed.add(line.number as number);
        next += 10;
        const found = await captureFaults(file);
        wrong.push(...found.wrong);
        for (const number of confirmed) if (!found.numbers.has(number)) wrong.push(`lost: ${number}`);
        if (lines.length > 0 && found.numbers.size === whole) midway++;
        whole = found.numbers.size;
      }
      expect(wrong).toEqual([]);
      expect(whole).toBeGreaterThan(CAPTURE_KILLS / 4);
      expect(midway).toBeGreaterThan(CAPTURE_KILLS / 8);
    },
    60_000 + CAPTURE_KILLS * 3000,
  );

  it('overwrites nothing that another one has written: of two that count at once, no step is lost', async () => {
    const file = join(place, 'count');
    const record = await openRecord(file, { clock, create: true });
    const { id } = await record.createMachine({
      ...{ name: 'Crane', reference: '0V', rails: [], units: [], boards: [{ name: 'A', pins: ['OUT'] }] },
      states: [{ name: 'rest' }],
    });
    const heard: number[] = [];
    record.onChange((machines) => heard.push(...machines.map((one) => one.id)));
    const results = await Promise.all([
      writer('count', file, 'a', '150').ended,
      writer('count', file, 'b', '150').ended,
    ]);
    expect(results.map(({ code, error }) => [code, error])).toEqual([
      [0, ''],
      [0, ''],
    ]);
    expect((await record.sheet(id, 'states')).rows[0]!.cells.note).toBe('300');
    expect(results.flatMap(({ lines }) => lines).filter((line) => 'conflict' in line).length).toBeGreaterThan(
      0,
    );
    expect(heard).toContain(id);
    await record.close();
  });
});
