/** Photographs of a board's side: put in, turned, mirrored, taken away. */

import { useEffect, useRef, useState } from 'react';
import type { PhotographView, Refusal } from '../../server/index.ts';
import { api, type Outcome, outdateMachine, type Problem, told } from '../live.ts';

export function photographAddress(machine: string, { id, file }: PhotographView): string {
  return `/api/machines/${encodeURIComponent(machine)}/photographs/${id}?file=${encodeURIComponent(file)}`;
}

/** Width over height of a picture, once it is there. */
export function useAspect(address: string | undefined): {
  readonly aspect: number | undefined;
  readonly broken: boolean;
} {
  const [found, setFound] = useState<{ address: string; aspect: number | undefined }>();
  useEffect(() => {
    if (address === undefined) return undefined;
    const image = new Image();
    let wanted = true;
    const tell = (aspect: number | undefined) => {
      if (wanted) setFound({ address, aspect });
    };
    image.onload = () => tell(image.naturalWidth / Math.max(1, image.naturalHeight));
    image.onerror = () => tell(undefined);
    image.src = address;
    return () => {
      wanted = false;
    };
  }, [address]);
  const here = found?.address === address ? found : undefined;
  return { aspect: here?.aspect, broken: here !== undefined && here.aspect === undefined };
}

export interface NewPicture {
  readonly board: string;
  readonly side: string;
  readonly unit: string;
}

/** Sends a picture as it is. @returns  why it was refused */
export async function sendPhotograph(
  machine: string,
  file: File,
  about: NewPicture,
): Promise<string | undefined> {
  const query = new URLSearchParams({ ...about, takenAt: takenAt(file) });
  try {
    const response = await fetch(`/api/machines/${encodeURIComponent(machine)}/photographs?${query}`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body: file,
    });
    outdateMachine(machine);
    return response.ok ? undefined : ((await response.json()) as Refusal).error.message;
  } catch {
    return 'Sisterboard does not answer. Is it still running in its terminal?';
  }
}

/** The file's own day: that of the camera, as a rule. */
function takenAt({ lastModified }: File): string {
  return new Date(lastModified).toISOString().slice(0, 19).concat('Z');
}

/** @returns  the photograph as it is now, or why it was refused */
export async function changePhotograph(
  machine: string,
  { id, version }: PhotographView,
  change: { readonly turn?: 0 | 90 | 180 | 270; readonly mirrored?: boolean },
): Promise<Outcome<PhotographView>> {
  const param = { id: machine, photograph: String(id) };
  const endpoint = api.machines[':id'].photographs[':photograph'];
  const outcome = await told(endpoint.$patch({ param, json: { version, ...change } }));
  outdateMachine(machine);
  return outcome;
}

export async function removePhotograph(
  machine: string,
  { id }: PhotographView,
): Promise<Problem | undefined> {
  const param = { id: machine, photograph: String(id) };
  const outcome = await told(api.machines[':id'].photographs[':photograph'].$delete({ param }));
  outdateMachine(machine);
  return outcome.ok ? undefined : outcome.problem;
}

export function AddPhotograph({
  label,
  main = false,
  onFile,
}: {
  readonly label: string;
  readonly main?: boolean;
  readonly onFile: (file: File) => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <button type="button" className={`button ${main ? 'main' : ''}`} onClick={() => input.current?.click()}>
        {label}
      </button>
      <input
        ref={input}
        type="file"
        hidden
        aria-label={label}
        accept="image/png,image/jpeg,image/webp"
        onChange={({ target }) => {
          const [file] = target.files ?? [];
          if (file) onFile(file);
          target.value = '';
        }}
      />
    </>
  );
}
