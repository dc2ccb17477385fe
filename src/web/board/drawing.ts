/**
 * A board drawn from its parts list, where there is no photograph: parts in rows by kind and reference, contacts along the lower
 * edge. It says what there is and how it is joined, not where it lies.
 */

export interface DrawnPart {
  /** Its reference. */
  readonly ref: string;
  readonly kind: string;
  readonly pins: readonly { readonly pin: string; readonly net: string }[];
}

export interface DrawnItem {
  readonly part: DrawnPart;
  /** Middle, in the drawing's own units. */
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly pins: readonly {
    readonly pin: string;
    readonly net: string;
    readonly x: number;
    readonly y: number;
  }[];
}

export interface Drawing {
  readonly width: number;
  readonly height: number;
  readonly items: readonly DrawnItem[];
}

interface Size {
  readonly width: number;
  readonly height: number;
}

/** Kinds that stand together, in the order of the rows. */
const ROWS: readonly (readonly string[])[] = [
  ['transistor'],
  ['diode', 'zener'],
  ['resistor', 'trimmer'],
  ['capacitor', 'inductor'],
];
const SIZES: Readonly<Record<string, Size>> = {
  transistor: { width: 64, height: 76 },
  trimmer: { width: 76, height: 56 },
};
const TWO_PIN: Size = { width: 84, height: 44 };
const CONTACT = 26;
const MARGIN = 26;
const GAP = { x: 14, y: 16 };
const ASPECT = 1.5;
const LEAST = 420;

/** @param parts  of one board, connectors included */
export function drawnBoard(parts: readonly DrawnPart[]): Drawing {
  const connectors = parts.filter(({ kind }) => kind === 'connector');
  const others = parts.filter(({ kind }) => kind !== 'connector');
  const groups = [...ROWS.map((kinds) => others.filter(({ kind }) => kinds.includes(kind)))];
  groups.push(others.filter(({ kind }) => ROWS.every((kinds) => !kinds.includes(kind))));
  const area = others.reduce((sum, part) => {
    const { width, height } = sizeOf(part);
    return sum + (width + GAP.x) * (height + GAP.y);
  }, 0);
  const longest = Math.max(0, ...connectors.map(({ pins }) => pins.length));
  const widest = Math.max(0, ...others.map((part) => sizeOf(part).width + GAP.x));
  const width = Math.ceil(
    Math.max(LEAST, widest, Math.sqrt(area * ASPECT), Math.min(40, longest) * CONTACT) + 2 * MARGIN,
  );

  const items: DrawnItem[] = [];
  let y = MARGIN;
  for (const group of groups) {
    const sorted = [...group].sort((a, b) => byReference(a.ref, b.ref));
    for (const row of wrapped(sorted, width - 2 * MARGIN)) {
      const height = Math.max(...row.map((part) => sizeOf(part).height));
      const used = row.reduce((sum, part) => sum + sizeOf(part).width, 0);
      // The parts of a full row are spread over it; a short last row keeps the usual gap.
      const spare = (width - 2 * MARGIN - used) / row.length;
      const gap = Math.min(spare, GAP.x * 3);
      let x = MARGIN + gap / 2;
      for (const part of row) {
        const size = sizeOf(part);
        items.push(itemAt(part, x + size.width / 2, y + height / 2, size));
        x += size.width + gap;
      }
      y += height + GAP.y;
    }
  }
  y = Math.max(y, 180);
  for (const connector of connectors) {
    const inRow = Math.floor((width - 2 * MARGIN) / CONTACT);
    const lines = Math.max(1, Math.ceil(connector.pins.length / inRow));
    const height = lines * 52;
    const pins = connector.pins.map((pin, i) => ({
      ...pin,
      x: MARGIN + ((i % inRow) + 0.5) * CONTACT + contactShift(connector.pins.length, inRow, width),
      y: y + Math.floor(i / inRow) * 52 + 36,
    }));
    items.push({ part: connector, x: width / 2, y: y + height / 2, width: width - 2 * MARGIN, height, pins });
    y += height + 4;
  }
  return { width, height: Math.ceil(y + (connectors.length > 0 ? 0 : MARGIN)), items };
}

/** A short connector stands in the middle of its edge. */
function contactShift(count: number, inRow: number, width: number): number {
  return (width - 2 * MARGIN - Math.min(count, inRow) * CONTACT) / 2;
}

function sizeOf({ kind, pins }: DrawnPart): Size {
  const known = SIZES[kind];
  if (known) return known;
  if (pins.length <= 2) return TWO_PIN;
  return { width: Math.max(84, pins.length * 24), height: 64 };
}

function wrapped(parts: readonly DrawnPart[], width: number): DrawnPart[][] {
  const rows: DrawnPart[][] = [];
  let used = Number.POSITIVE_INFINITY;
  for (const part of parts) {
    const wide = sizeOf(part).width + GAP.x;
    if (used + wide > width) {
      rows.push([]);
      used = 0;
    }
    rows.at(-1)!.push(part);
    used += wide;
  }
  return rows;
}

function itemAt(part: DrawnPart, x: number, y: number, { width, height }: Size): DrawnItem {
  return {
    part,
    x,
    y,
    width,
    height,
    pins: part.pins.map((pin, i) => ({ ...pin, ...pinPlace(part, pin.pin, i, x, y) })),
  };
}

function pinPlace(
  { kind, pins }: DrawnPart,
  pin: string,
  i: number,
  x: number,
  y: number,
): { readonly x: number; readonly y: number } {
  if (kind === 'transistor') {
    const side = pin === 'e' ? -1 : pin === 'c' ? 1 : 0;
    return { x: x + side * 22, y: y + (side === 0 ? 36 : 30) };
  }
  if (kind === 'trimmer' && pin === 'w') return { x, y: y + 26 };
  if (pins.length <= 2 || kind === 'trimmer') return { x: x + (i === 0 ? -38 : 38), y };
  return { x: x + (i - (pins.length - 1) / 2) * 22, y: y + 28 };
}

/** R2 before R10. */
export function byReference(a: string, b: string): number {
  return a.localeCompare(b, 'en', { numeric: true });
}
