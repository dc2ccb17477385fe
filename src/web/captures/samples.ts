/** Samples of a channel as they come from the server. */

import type { LogicTrace, Timebase } from '../../waveform/index.ts';
import type { AnyTrace } from './work.ts';

/**
 * @throws Error  with the server's words where it refuses
 */
export async function samples(
  url: string,
  name: string,
  unit: string,
  progress: (done: number, total: number) => void,
): Promise<AnyTrace> {
  const response = await fetch(url);
  if (!response.ok) throw new Error(await refusalOf(response));
  if (/json/.test(response.headers.get('content-type') ?? '')) {
    const kept = (await response.json()) as Pick<LogicTrace, 'states' | 'end' | 'width'> & {
      instants: number[];
    };
    return {
      name,
      width: kept.width,
      instants: Float64Array.from(kept.instants),
      states: kept.states,
      end: kept.end,
    };
  }
  const count = Number(response.headers.get('x-samples'));
  const stamped = response.headers.get('x-stamped') === '1';
  const bytes = new Uint8Array(count * (stamped ? 12 : 4));
  let done = 0;
  const reader = response.body!.getReader();
  for (let piece = await reader.read(); !piece.done; piece = await reader.read()) {
    if (done + piece.value.length > bytes.length) throw new Error('more samples came than were announced');
    bytes.set(piece.value, done);
    done += piece.value.length;
    progress(done, bytes.length);
  }
  if (done < bytes.length) throw new Error('fewer samples came than were announced');
  const timebase: Timebase = stamped
    ? { stamps: new Float64Array(bytes.buffer, 0, count) }
    : { start: Number(response.headers.get('x-start')), step: Number(response.headers.get('x-step')) };
  return { name, unit, timebase, values: new Float32Array(bytes.buffer, stamped ? 8 * count : 0, count) };
}

async function refusalOf(response: Response): Promise<string> {
  try {
    const { error } = (await response.json()) as { error: { message: string } };
    return error.message;
  } catch {
    return `the samples cannot be read (status ${response.status})`;
  }
}
