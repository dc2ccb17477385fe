import { understandingFrom } from '../capture/index.ts';
import type { Finding, MachinePapers } from '../machine/index.ts';
import { channelScales, scaledWish, type TakenIn, takenIn } from './capture-intake.ts';
import { CaptureRefusal } from './capture-refusal.ts';

/** Handed to the reader at a time: between two of them the program breathes. */
const AT_ONCE = 1 << 20;

/**
 * The captures of a folder, read as its tables say: by path.
 *
 * @returns and what is wrong with those that cannot be read
 */
export async function importedCaptures(
  files: ReadonlyMap<string, Uint8Array>,
  { captures, captureChannels }: MachinePapers,
): Promise<{ readonly taken: ReadonlyMap<string, TakenIn>; readonly findings: readonly Finding[] }> {
  const taken = new Map<string, TakenIn>();
  const findings: Finding[] = [];
  for (const { file, understanding: text } of captures) {
    const path = `captures/${file}`;
    const bytes = files.get(path);
    if (bytes === undefined || bytes.length === 0) continue;
    const understanding = text === '' ? undefined : understandingFrom(JSON.parse(text));
    if (text !== '' && understanding === undefined) {
      const message = `that of ${file} says not all that is needed to read it; leave it empty, and the file is understood anew`;
      findings.push({
        severity: 'error',
        code: 'format',
        file: 'captures.csv',
        column: 'understanding',
        message,
      });
      continue;
    }
    const { wish, offsets } = scaledWish(channelScales(file, captureChannels));
    try {
      taken.set(path, await takenIn(path, { ...wish, understanding }, pieces(bytes), { offsets }));
    } catch (error) {
      if (!(error instanceof CaptureRefusal)) throw error;
      findings.push(...error.findings);
    }
  }
  return { taken, findings };
}

function* pieces(bytes: Uint8Array): Generator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += AT_ONCE) yield bytes.subarray(at, at + AT_ONCE);
}
