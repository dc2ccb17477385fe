/** The page of all captures of a machine, or of one. */
export function wavesPath(machine: string, capture?: number): string {
  return `/m/${encodeURIComponent(machine)}/waves${capture === undefined ? '' : `/${capture}`}`;
}

/** The page of what is expected in a running state. */
export function expectedPath(machine: string): string {
  return `${wavesPath(machine)}/expected`;
}
