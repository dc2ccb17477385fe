/** The way to the captures of a machine: what is kept, what a file is understood to hold, and files on their way in. */

import type { Problem } from '../live.ts';
import { useLive } from '../live.ts';
import type { CaptureEntry } from './entries.ts';

const listing = {
  $get: ({ id }: { readonly id: string }) => fetch(pathOf(id)) as never,
  $path: ({ id }: { readonly id: string }) => pathOf(id),
};

function pathOf(machine: string | number): string {
  return `/api/machines/${encodeURIComponent(machine)}/captures`;
}

/** All captures of a machine, the newest first. */
export function useCaptures(machine: string): {
  readonly value?: readonly CaptureEntry[];
  readonly problem?: Problem;
} {
  return useLive<{ readonly id: string }, readonly CaptureEntry[]>(listing, { id: machine });
}

export function samplesUrl(machine: string, capture: number, channel: number): string {
  return `${pathOf(machine)}/${capture}/samples/${channel}`;
}
