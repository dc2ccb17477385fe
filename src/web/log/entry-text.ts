/** What is typed into the fields of an entry, as the log takes it. */

/** Names apart by spaces, commas or semicolons, each once. */
export function namesIn(text: string): string[] {
  return [...new Set(text.split(/[\s,;]+/).filter((name) => name !== ''))];
}

/** The parts and modes of suspects, each once: a double fault is two. */
export function suspectsIn(keys: readonly string[]): string[] {
  return [...new Set(keys.flatMap((key) => key.split(' + ')).flatMap(namesIn))];
}

/** Names that are not among those known. */
export function unknown(names: readonly string[], known: readonly string[]): string[] {
  const all = new Set(known);
  return names.filter((name) => !all.has(name));
}

/** `ADD/Q7:short-ce` as its part and mode. */
export function partAndMode(suspect: string): { readonly part: string; readonly mode: string } {
  const colon = suspect.indexOf(':');
  return colon < 0
    ? { part: suspect, mode: '' }
    : { part: suspect.slice(0, colon), mode: suspect.slice(colon + 1) };
}
