/** The wiring as rows of pins: each pin of each part with its net, read from the parts' cells and written back to them. */

import { KIND_RULES, type PartKind } from '../../machine/index.ts';
import type { SheetRow } from './edit-queue.ts';

export interface PinRow {
  readonly part: SheetRow;
  readonly pin: string;
  readonly net: string;
}

/** `e=0V b=B1`, split; a word without `=` is a pin with no net yet. */
export function pinPairs(cell: string): { readonly pin: string; readonly net: string }[] {
  return cell
    .trim()
    .split(/\s+/)
    .filter((word) => word !== '')
    .map((word) => {
      const at = word.indexOf('=');
      return at < 0 ? { pin: word, net: '' } : { pin: word.slice(0, at), net: word.slice(at + 1) };
    });
}

/** Every pin in the order of the parts; a part without any shows the pins that its kind has. */
export function pinRows(parts: readonly SheetRow[]): PinRow[] {
  return parts.flatMap((part) => {
    const pairs = pinPairs(part.cells.pins ?? '');
    const rule = KIND_RULES[(part.cells.kind ?? '').trim().toLowerCase() as PartKind]?.pins;
    const wanted = Array.isArray(rule) ? (rule as readonly string[]) : [];
    const missing = wanted.filter((pin) => pairs.every((pair) => pair.pin !== pin));
    return [...pairs, ...missing.map((pin) => ({ pin, net: '' }))].map((pair) => ({ part, ...pair }));
  });
}

/** The cell `pins` of a part when some of its pins have other nets; a pin without a net is left out. */
export function withNets(cell: string, nets: ReadonlyMap<string, string>): string {
  const pairs = pinPairs(cell).map(({ pin, net }) => ({ pin, net: nets.get(pin) ?? net }));
  for (const [pin, net] of nets) if (pairs.every((pair) => pair.pin !== pin)) pairs.push({ pin, net });
  return pairs
    .filter(({ net }) => net.trim() !== '')
    .map(({ pin, net }) => `${pin}=${net.trim()}`)
    .join(' ');
}
