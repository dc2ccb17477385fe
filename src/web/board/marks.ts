/** What can be marked on a board, and where each mark stands: as it was placed, or as the drawing has it. */

import type { MachineView, PlacementView, SheetView } from '../../server/index.ts';
import { pinPairs } from '../sheets/wiring.ts';
import { byReference, type Drawing, type DrawnPart } from './drawing.ts';
import type { Place } from './view.ts';

export type MarkKind = 'points' | 'pins' | 'parts';

export interface Mark {
  /** As it is on record: a net, `BOARD/REF.pin` or `BOARD/REF`. */
  readonly name: string;
  readonly kind: MarkKind;
  /** Without the board. */
  readonly short: string;
  readonly net: string;
}

export interface Placed extends Place {
  /** Whether the mark itself was placed; else it stands where something near it was. */
  readonly exact: boolean;
}

export function partsOf(board: string, sheet: SheetView | undefined): DrawnPart[] {
  return (sheet?.rows ?? [])
    .filter(({ cells }) => (cells.board ?? '').trim() === board)
    .map(({ cells }) => ({
      ref: (cells.ref ?? '').trim(),
      kind: (cells.kind ?? '').trim().toLowerCase(),
      pins: pinPairs(cells.pins ?? ''),
    }));
}

/** Points in signal order, pins and parts by reference. A net that runs through several boards is a point of each. */
export function marksOf(machine: MachineView, board: string, parts: readonly DrawnPart[]): Mark[] {
  const nets = new Set(parts.flatMap(({ pins }) => pins.map(({ net }) => net)));
  const start = `${board}/`;
  const short = (name: string) => (name.startsWith(start) ? name.slice(start.length) : name);
  const points = machine.points
    .filter(({ point, net }) => point.startsWith(start) || (!point.includes('/') && nets.has(net)))
    .map(({ point, net }): Mark => ({ name: point, kind: 'points', short: short(point), net }));
  const sorted = [...parts].sort((a, b) => byReference(a.ref, b.ref));
  const pins = sorted.flatMap(({ ref, pins: own }) =>
    own.map(
      ({ pin, net }): Mark => ({ name: `${start}${ref}.${pin}`, kind: 'pins', short: `${ref}.${pin}`, net }),
    ),
  );
  return [
    ...points,
    ...pins.filter(({ name }) => points.every((point) => point.name !== name)),
    ...sorted.map(({ ref }): Mark => ({ name: `${start}${ref}`, kind: 'parts', short: ref, net: '' })),
  ];
}

/** What of the drawing stands in for a placement that nobody has made. */
export function drawnPlaces(drawing: Drawing, board: string): Map<string, Placed> {
  const places = new Map<string, Placed>();
  for (const { part, x, y, pins } of drawing.items) {
    places.set(`${board}/${part.ref}`, share(drawing, x, y));
    for (const pin of pins) places.set(`${board}/${part.ref}.${pin.pin}`, share(drawing, pin.x, pin.y));
  }
  return places;
}

function share({ width, height }: Drawing, x: number, y: number): Placed {
  return { x: x / width, y: y / height, exact: true };
}

/** A placement as it serves on one picture. */
export interface Serving extends PlacementView {
  /** It was made on the picture of another unit, where the board may lie a little otherwise. */
  readonly borrowed: boolean;
}

/** For each mark its place on the pictures of a unit: its own, else that of all units, else one that was made for another unit. */
export function placementsFor(placements: readonly PlacementView[], unit: string): Serving[] {
  const rank = (one: PlacementView): number => (one.unit === unit ? 0 : one.unit === '' ? 1 : 2);
  const best = new Map<string, PlacementView>();
  for (const one of placements) {
    const known = best.get(one.mark);
    if (known === undefined || rank(one) < rank(known)) best.set(one.mark, one);
  }
  return [...best.values()].map((one) => ({ ...one, borrowed: rank(one) === 2 }));
}

/**
 * Where each mark stands, shares of the picture as it was taken. A net without a place of its own stands at one of its pins on
 * the board, the connector's first; a pin near its part.
 *
 * @param drawn  of the drawing, where that is the picture; what was placed goes before it
 */
export function placesOf(
  marks: readonly Mark[],
  placements: readonly Serving[],
  parts: readonly DrawnPart[],
  board: string,
  drawn: ReadonlyMap<string, Placed> = new Map(),
): Map<string, Placed> {
  const placed = new Map<string, Placed>(drawn);
  for (const { mark, x, y, borrowed } of placements) {
    const was = drawn.get(mark);
    placed.set(mark, { x, y, exact: !borrowed });
    if (was === undefined) continue;
    // A part that was moved on the drawing takes its pins with it.
    for (const [name, pin] of drawn) {
      if (name.startsWith(`${mark}.`))
        placed.set(name, { x: pin.x + x - was.x, y: pin.y + y - was.y, exact: true });
    }
  }
  for (const { mark, x, y, borrowed } of placements) placed.set(mark, { x, y, exact: !borrowed });
  const connectorsFirst = [...parts].sort(
    (a, b) => Number(b.kind === 'connector') - Number(a.kind === 'connector'),
  );
  const found = new Map<string, Placed>();
  for (const { name, kind, net } of marks) {
    const own = placed.get(name) ?? (kind === 'points' && !name.includes('/') ? atPin(net) : undefined);
    const near = own ?? (kind === 'parts' ? undefined : nearPart(name, net));
    if (near) found.set(name, near);
  }
  return found;

  function atPin(net: string): Placed | undefined {
    for (const { ref, pins } of connectorsFirst) {
      for (const pin of pins) {
        const at = pin.net === net ? placed.get(`${board}/${ref}.${pin.pin}`) : undefined;
        if (at) return at;
      }
    }
    return undefined;
  }

  function nearPart(name: string, net: string): Placed | undefined {
    const part = name.includes('/') ? placed.get(name.slice(0, name.lastIndexOf('.'))) : undefined;
    if (part) return { ...part, exact: false };
    if (name.includes('/')) return undefined;
    const holder = connectorsFirst.find(
      ({ ref, pins }) => placed.has(`${board}/${ref}`) && pins.some((pin) => pin.net === net),
    );
    const at = holder && placed.get(`${board}/${holder.ref}`);
    return at && { ...at, exact: false };
  }
}
