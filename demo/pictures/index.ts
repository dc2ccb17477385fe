/**
 * Pictures of the demo's boards, both sides, and where everything is on them. They are drawn: the boards are invented, so that there is
 * nothing to photograph. Start with `boardPictures`.
 */
import { type BoardPhotograph, boardsOf, type Machine, type Placement } from '../../src/machine/index.ts';
import { Drawing, type Paint } from './drawing.ts';
import { CONTACT, HEIGHT, type Layout, layoutOf, MARGIN, marksOf, type PlacedPart, WIDTH } from './layout.ts';

export interface BoardPictures {
  readonly photographs: readonly BoardPhotograph[];
  readonly placements: readonly Placement[];
  /** PNG files by name. */
  readonly files: ReadonlyMap<string, Uint8Array>;
}

const SIDES = ['component', 'copper'] as const;
type Side = (typeof SIDES)[number];

export function boardPictures(machine: Machine): BoardPictures {
  const photographs: BoardPhotograph[] = [];
  const placements: Placement[] = [];
  const files = new Map<string, Uint8Array>();
  for (const board of boardsOf(machine)) {
    const layout = layoutOf(machine, board);
    for (const side of SIDES) {
      const file = `${board.toLowerCase()}-${side}.png`;
      files.set(file, drawn(layout, side));
      const note = 'drawn, not photographed: the board is invented';
      photographs.push({ file, board, side, unit: '', takenAt: '', turn: 0, mirrored: false, note });
      for (const [mark, { x, y }] of marksOf(machine, layout))
        placements.push({ board, side, unit: '', mark, x: share(seen(x, side), WIDTH), y: share(y, HEIGHT) });
    }
  }
  return { photographs, placements, files };
}

function share(dots: number, whole: number): number {
  return Number((dots / whole).toFixed(4));
}

/** Left is right when the board is turned over. */
function seen(x: number, side: Side): number {
  return side === 'copper' ? WIDTH - x : x;
}

function drawn(layout: Layout, side: Side): Uint8Array {
  const drawing = new Drawing(WIDTH, HEIGHT, 'bench');
  const ground: Paint = side === 'copper' ? 'lacquer' : 'laminate';
  drawing.rectangle(MARGIN - 3, MARGIN - 3, WIDTH - 2 * MARGIN + 6, HEIGHT - 2 * MARGIN + 6, 'rim');
  drawing.rectangle(MARGIN, MARGIN, WIDTH - 2 * MARGIN, HEIGHT - 2 * MARGIN, ground);
  drawing.word(WIDTH / 2, MARGIN / 2, `${layout.board}, ${side} side, drawn`, 3, 'print');
  for (const [net, { x, y }] of layout.sockets) {
    drawing.disc(seen(x, side), y, 12, 'pad');
    drawing.disc(seen(x, side), y, 6, 'hole');
    drawing.word(seen(x, side), y + 22, net, 2, side === 'copper' ? 'print' : 'ink');
  }
  for (const placed of layout.parts) {
    if (placed.shape === 'edge') drawEdge(drawing, placed, side);
    else if (side === 'copper') drawPads(drawing, placed);
    else drawPart(drawing, placed);
  }
  return drawing.png();
}

function drawEdge(drawing: Drawing, { pads }: PlacedPart, side: Side): void {
  const { width, height } = CONTACT;
  for (const [pin, { x, y }] of pads) {
    drawing.rectangle(seen(x, side) - width / 2, y - height / 2, width, height, 'gold');
    drawing.word(seen(x, side), y - height / 2 - 10, pin, 2, side === 'copper' ? 'print' : 'ink');
  }
}

/** Solder pads; those of a transistor with their letters, by which one finds them. */
function drawPads(drawing: Drawing, { part, pads, at }: PlacedPart): void {
  for (const [pin, { x, y }] of pads) {
    drawing.disc(seen(x, 'copper'), y, 8, 'pad');
    drawing.disc(seen(x, 'copper'), y, 2, 'hole');
    if (part.kind === 'transistor') {
      const out = { x: x + Math.sign(x - at.x) * 14, y: y + (x === at.x ? -15 : 4) };
      drawing.word(seen(out.x, 'copper'), out.y, pin, 2, 'print');
    }
  }
}

function drawPart(drawing: Drawing, { part, shape, at, width, height, pads }: PlacedPart): void {
  const { x, y } = at;
  for (const pad of pads.values()) {
    drawing.disc(pad.x, pad.y, 5, 'pad');
    if (shape === 'stick') drawing.rectangle(pad.x - 1.5, Math.min(pad.y, y), 3, Math.abs(pad.y - y), 'pad');
  }
  const body = (paint: Paint): void => drawing.rectangle(x - width / 2, y - height / 2, width, height, paint);
  if (shape === 'power can') {
    body('shade');
    for (let fin = 0; fin < width; fin += 12)
      drawing.rectangle(x - width / 2 + fin, y - height / 2, 4, height, 'glass');
    drawing.disc(x, y, 32, 'can');
  } else if (shape === 'can') {
    drawing.disc(x, y, width / 2, part.kind === 'lamp' ? 'bulb' : 'shade');
    drawing.disc(x, y, width / 2 - 5, part.kind === 'lamp' ? 'gold' : 'can');
  } else body(PAINT_OF[part.kind] ?? 'glass');
  // The ring of a cathode, the plus side of an electrolytic, the bands of a resistor.
  if (part.kind === 'diode' || part.kind === 'zener')
    drawing.rectangle(x - width / 2, y + height / 2 - 8, width, 4, 'print');
  if (shape === 'sleeve') drawing.rectangle(x - width / 2, y - height / 2, width, 6, 'print');
  if (part.kind === 'resistor')
    for (const at of [8, 15, 22]) drawing.rectangle(x - width / 2, y - height / 2 + at, width, 3, 'gold');
  // On sticks the name stands above the upper pad, elsewhere on the body.
  if (shape === 'stick') drawing.word(x, y - height / 2 - 22, part.ref, 2, 'ink');
  else drawing.word(x, y, part.ref, 2, shape === 'block' || shape === 'sleeve' ? 'print' : 'ink');
  if (part.kind === 'transistor') for (const { x, y } of pads.values()) drawing.disc(x, y, 3, 'hole');
}

const PAINT_OF: Readonly<Partial<Record<PlacedPart['part']['kind'], Paint>>> = {
  resistor: 'carbon',
  capacitor: 'sleeve',
  fuse: 'bulb',
  transformer: 'shade',
  inductor: 'shade',
};
