import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { CaptureReading, understandingFrom } from '../capture/index.ts';
import type { DriveWave, Machine, MachinePapers } from '../machine/index.ts';
import { channelScales, scaledWish, type WorkshopRecord } from '../records/index.ts';
import { instantAt, type LogicTrace, type Trace } from '../waveform/index.ts';

/** Gives a channel of one of a machine's captures, by its name or its number from 1; undefined where there is none. */
export type CaptureSource = (file: string, channel: string) => Promise<Trace | undefined>;

/** A captured wave is told by straight lines that keep within this share of its swing. */
const LINES_SHARE = 0.005;
/** … and by so many corners at most; the lines keep less near then. */
const MOST_CORNERS = 2000;

/** The machine with the samples of the captures that drive it; time 0 is a capture's first sample. A capture that is not there stays as it is. */
export async function withCapturedWaves(machine: Machine, source: CaptureSource): Promise<Machine> {
  const captured = machine.conditions.some(({ drives }) =>
    drives.some(({ wave }) => wave?.kind === 'capture'),
  );
  if (!captured) return machine;
  const conditions = await Promise.all(
    machine.conditions.map(async (condition) => {
      const drives = await Promise.all(
        condition.drives.map(async (drive) => {
          if (drive.wave?.kind !== 'capture') return drive;
          const trace = await source(drive.wave.file, drive.wave.channel);
          const wave = trace && waveOfTrace(trace);
          return wave === undefined ? drive : { ...drive, wave };
        }),
      );
      return { ...condition, drives };
    }),
  );
  return { ...machine, conditions };
}

/** A trace as a drive's wave: its corners, from 0 on; undefined of one without two samples that are numbers. */
export function waveOfTrace({ values, timebase }: Trace): DriveWave | undefined {
  const t: number[] = [];
  const v: number[] = [];
  let begin = Number.NaN;
  for (let i = 0; i < values.length; i++) {
    if (!Number.isFinite(values[i]!)) continue;
    const at = instantAt(timebase, i);
    if (t.length === 0) begin = at;
    t.push(at - begin);
    v.push(values[i]!);
  }
  if (t.length < 2) return undefined;
  let [low, high] = [Infinity, -Infinity];
  for (const x of v) {
    low = Math.min(low, x);
    high = Math.max(high, x);
  }
  let kept: number[];
  for (let within = LINES_SHARE * (high - low); ; within *= 2) {
    kept = corners(t, v, within);
    if (kept.length <= MOST_CORNERS || within > high - low) break;
  }
  return { kind: 'samples', instants: kept.map((i) => t[i]!), volts: kept.map((i) => v[i]!) };
}

/** Which samples straight lines between them tell all others by, within so many volts. */
function corners(t: readonly number[], v: readonly number[], within: number): number[] {
  const kept = [0];
  let from = 0;
  // Slopes of lines from the last corner that pass all samples since near enough.
  let [least, most] = [-Infinity, Infinity];
  for (let i = 1; i < t.length; i++) {
    const dt = t[i]! - t[from]!;
    const slope = (v[i]! - v[from]!) / dt;
    if (slope < least || slope > most) {
      from = i - 1;
      kept.push(from);
      const step = t[i]! - t[from]!;
      least = (v[i]! - within - v[from]!) / step;
      most = (v[i]! + within - v[from]!) / step;
      continue;
    }
    least = Math.max(least, (v[i]! - within - v[from]!) / dt);
    most = Math.min(most, (v[i]! + within - v[from]!) / dt);
  }
  if (kept.at(-1) !== t.length - 1) kept.push(t.length - 1);
  return kept;
}

function named(channels: readonly (Trace | LogicTrace)[], channel: string): Trace | undefined {
  const byName = channels.filter(({ name }) => name === channel);
  const found = byName.length === 1 ? byName[0] : channels[Number(channel) - 1];
  return found !== undefined && 'values' in found ? found : undefined;
}

/** The captures of a folder: files in `captures/`, read as captures.csv and capture-channels.csv say. */
export function capturesOfFolder(
  folder: string,
  { captures, captureChannels }: MachinePapers,
): CaptureSource {
  return async (file, channel) => {
    const row = captures.find((capture) => capture.file === file);
    const bytes = row && (await readFile(join(folder, 'captures', file)).catch(() => undefined));
    // What cannot be read is not there: nothing is computed of its state then, and the answer says so.
    if (row === undefined || bytes === undefined) return undefined;
    const understanding =
      row.understanding === '' ? undefined : understandingFrom(JSON.parse(row.understanding));
    const { wish, offsets } = scaledWish(channelScales(file, captureChannels));
    const reading = new CaptureReading(file, { ...wish, understanding });
    reading.push(bytes);
    const { kind, capture } = reading.end();
    if (capture === undefined) return undefined;
    // Of a text the offsets are in what it is understood to be.
    const traces = capture.traces.map((trace, i) => {
      const offset = kind === 'wav' ? (offsets[i] ?? 0) : 0;
      return offset === 0 ? trace : { ...trace, values: trace.values.map((v) => v + offset) };
    });
    return named([...traces, ...capture.logic], channel);
  };
}

/** The captures of a machine in a record. */
export function capturesOfRecord(record: WorkshopRecord, machine: number): CaptureSource {
  return async (file, channel) => {
    const capture = (await record.captures(machine)).find((one) => one.file === file);
    if (capture === undefined) return undefined;
    const traces: (Trace | LogicTrace)[] = [];
    for (const { index } of capture.channels)
      traces.push(await record.captureTrace(machine, capture.id, index));
    return named(traces, channel);
  };
}
