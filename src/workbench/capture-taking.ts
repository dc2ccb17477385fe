import type { TextUnderstanding } from '../capture/index.ts';
import type { Finding } from '../machine/index.ts';
import { type CaptureFacts, putCaptureIntoFolder } from '../records/index.ts';
import { channelNamed } from './capture-correction.ts';
import {
  type CaptureCorrections,
  captureWish,
  type FileWork,
  filePieces,
  fileStat,
  openCapture,
} from './capture-file.ts';
import type { MachinePlace } from './folder.ts';
import { withMachine } from './recorded-machine.ts';

/** A capture that was taken in. */
export interface TakenCaptureFile {
  /** The name in `captures/`. */
  readonly file: string;
  /** The machine in the record, or the folder. */
  readonly machine: string;
  readonly kind: 'text' | 'wav' | 'vcd';
  readonly understanding: TextUnderstanding | undefined;
  readonly findings: readonly Finding[];
  readonly channels: readonly { readonly name: string; readonly point: string }[];
}

export interface CaptureTaking {
  readonly facts: Partial<CaptureFacts>;
  /** Points by channel, which is named or numbered from 1. */
  readonly points: ReadonlyMap<string, string>;
  readonly corrections: CaptureCorrections;
}

/**
 * Reads a file and puts it on record: in a machine folder, or in a machine of a record. Whole, or not at all.
 *
 * @throws CaptureRefusal  with line and column, where it cannot be read
 * @throws InputError  as `openCapture`, `WorkshopRecord.addCapture` and `putCaptureIntoFolder`
 */
export async function takeCaptureFile(
  path: string,
  place: MachinePlace,
  { facts, points, corrections }: CaptureTaking,
  work: FileWork = {},
): Promise<TakenCaptureFile> {
  if (typeof place === 'string') {
    const {
      file: name,
      kind,
      understanding,
      findings,
      channels,
    } = await openCapture(path, corrections, work);
    const names = channels.map((channel) => channel.name);
    const at = pointsOf(name, names, points);
    const rowsOf = { facts, understanding, fullScale: corrections.fullScale, names, points: at };
    const file = await putCaptureIntoFolder(place, path, { name, kind, ...rowsOf });
    const shown = names.map((one, i) => ({ name: one, point: at[i]! }));
    return { file, machine: place, kind, understanding, findings, channels: shown };
  }
  const { size } = await fileStat(path);
  return withMachine(place, async (record, { id, name: machine }) => {
    const file = path.replace(/^.*[/\\]/, '');
    const wish = captureWish(file, corrections);
    const at = (names: readonly string[]) => pointsOf(file, names, points);
    const source = filePieces(path, size, work);
    const taken = await record.addCapture(id, { file, ...facts, wish, points: at }, source);
    const entry = (await record.captures(id)).find((one) => one.id === taken.capture)!;
    const { understanding, findings } = taken;
    return { file: entry.file, machine, kind: entry.kind, understanding, findings, channels: entry.channels };
  });
}

function pointsOf(
  file: string,
  names: readonly string[],
  points: ReadonlyMap<string, string>,
): readonly string[] {
  const found = names.map(() => '');
  for (const [channel, point] of points) found[channelNamed(file, names, channel)] = point;
  return found;
}
