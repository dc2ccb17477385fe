/** The way to the captures of a machine: what is kept, what a file is understood to hold, and files on their way in. */

import type {
  CaptureEntry,
  Refusal,
  TakenCapture,
  UnderstandingView,
  UnderstoodView,
} from '../../server/index.ts';
import { api, type Live, type Outcome, outdateMachine, type Problem, told, useLive } from '../live.ts';

/** Bytes of a file that are looked at to understand it. */
const HEAD_BYTES = 64 * 1024;
const UNREACHABLE: Problem = {
  code: 'unreachable',
  message: 'Sisterboard does not answer. Is it still running in its terminal?',
};

/** All captures of a machine, the newest first. */
export function useCaptures(id: string): Live<readonly CaptureEntry[]> {
  return useLive(api.machines[':id'].captures, { param: { id } });
}

export function samplesUrl(machine: string, capture: number, channel: number): string {
  return `${pathOf(machine)}/${capture}/samples/${channel}`;
}

function pathOf(machine: string): string {
  return `/api/machines/${encodeURIComponent(machine)}/captures`;
}

/** Facts of a capture that a person says. */
export interface Facts {
  readonly unit: string;
  readonly state: string;
  readonly takenAt: string;
  readonly instrument: string;
  readonly note: string;
}

export interface About extends Facts {
  readonly file: string;
  readonly understanding?: UnderstandingView;
  /** Volts at full scale of a sound file. */
  readonly fullScale?: number;
  /** One for each channel; empty for none. */
  readonly points?: readonly string[];
}

/** Separator and decimal sign that a person corrected. */
export interface Form {
  readonly separator?: UnderstandingView['separator'];
  readonly decimal?: UnderstandingView['decimal'];
}

export async function understood(
  machine: string,
  file: File,
  name: string,
  form: Form,
  instrument: string,
): Promise<Outcome<UnderstoodView>> {
  const query = new URLSearchParams({ file: name, ...form, ...(instrument === '' ? {} : { instrument }) });
  try {
    const response = await fetch(`${pathOf(machine)}/understood?${query}`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body: await file.slice(0, HEAD_BYTES).arrayBuffer(),
    });
    const body: unknown = await response.json();
    return response.ok
      ? { ok: true, value: body as UnderstoodView }
      : { ok: false, problem: (body as Refusal).error };
  } catch {
    return { ok: false, problem: UNREACHABLE };
  }
}

/**
 * Sends a file, and keeps it once the server has read it whole.
 *
 * @param progress  share of it that has gone
 * @param signal    a person will not wait: nothing is kept
 * @returns undefined where it was stopped
 */
export function brought(
  machine: number,
  file: File,
  about: About,
  progress: (share: number) => void,
  signal: AbortSignal,
): Promise<Outcome<TakenCapture> | undefined> {
  return new Promise((resolve) => {
    // The browser's newer way to ask does not say how much of a body has gone.
    const request = new XMLHttpRequest();
    request.open(
      'POST',
      `${pathOf(String(machine))}?${new URLSearchParams({ about: JSON.stringify(about) })}`,
    );
    request.setRequestHeader('content-type', 'application/octet-stream');
    request.upload.addEventListener('progress', ({ loaded, total }) => progress(loaded / Math.max(1, total)));
    request.addEventListener('load', () => resolve(answerOf(machine, request)));
    request.addEventListener('error', () => resolve({ ok: false, problem: UNREACHABLE }));
    request.addEventListener('abort', () => resolve(undefined));
    signal.addEventListener('abort', () => request.abort());
    request.send(file);
  });
}

function answerOf(machine: number, { status, responseText }: XMLHttpRequest): Outcome<TakenCapture> {
  try {
    const body: unknown = JSON.parse(responseText);
    if (status >= 300) return { ok: false, problem: (body as Refusal).error };
    outdateMachine(machine);
    return { ok: true, value: body as TakenCapture };
  } catch {
    return {
      ok: false,
      problem: { code: 'unreadable', message: `The answer cannot be read (status ${status}).` },
    };
  }
}

export async function changeCapture(
  machine: number,
  entry: CaptureEntry,
  change: Partial<Facts> & { readonly points?: string[] },
): Promise<Problem | undefined> {
  const param = { id: String(machine), capture: String(entry.id) };
  const json = { version: entry.version, ...change };
  const outcome = await told(api.machines[':id'].captures[':capture'].$patch({ param, json }));
  if (!outcome.ok) return outcome.problem;
  outdateMachine(machine);
  return undefined;
}

export async function removeCapture(machine: number, entry: CaptureEntry): Promise<Problem | undefined> {
  const param = { id: String(machine), capture: String(entry.id) };
  const outcome = await told(api.machines[':id'].captures[':capture'].$delete({ param }));
  if (!outcome.ok) return outcome.problem;
  outdateMachine(machine);
  return undefined;
}
