/**
 * Where everything is on an invented board, seen from the parts: sockets along the front edge, parts in rows along the flow of the
 * signal, contacts along the back edge. Measures in dots of the drawing.
 */
import { type Machine, type Part, pinsByNet, pointNet } from '../../src/machine/index.ts';

export const WIDTH = 1280;
export const HEIGHT = 860;
export const MARGIN = 30;
const LEFT = 56;
const RIGHT = WIDTH - 56;
const TOP = 118;
/** Least height of a row. */
const ROW = 104;
export const CONTACT = { width: 26, height: 46, y: HEIGHT - MARGIN - 23 } as const;
const BOTTOM = CONTACT.y - 50;
const SOCKET_Y = 70;
const ELECTROLYTIC_FARADS = 1e-6;

export interface Spot {
  readonly x: number;
  readonly y: number;
}
export type Shape = 'stick' | 'can' | 'power can' | 'sleeve' | 'block' | 'edge';
export interface PlacedPart {
  readonly part: Part;
  readonly shape: Shape;
  /** The middle of its body, and the body's size. */
  readonly at: Spot;
  readonly width: number;
  readonly height: number;
  /** By pin name. */
  readonly pads: ReadonlyMap<string, Spot>;
}
export interface Layout {
  readonly board: string;
  readonly parts: readonly PlacedPart[];
  /** By net. */
  readonly sockets: ReadonlyMap<string, Spot>;
}

/** Body and the room it takes in a row. */
function measure(part: Part): { shape: Shape; width: number; height: number } {
  switch (part.kind) {
    case 'transistor':
      return part.type === 'QWQ31'
        ? { shape: 'power can', width: 96, height: 84 }
        : { shape: 'can', width: 48, height: 48 };
    case 'capacitor':
      return (part.value ?? 0) < ELECTROLYTIC_FARADS
        ? { shape: 'stick', width: 14, height: 18 }
        : { shape: 'sleeve', width: (part.value ?? 0) > 3e-4 ? 52 : 26, height: 58 };
    case 'trimmer':
    case 'switch':
      return { shape: 'block', width: 48, height: 44 };
    case 'transformer':
    case 'inductor':
    case 'other':
      return { shape: 'block', width: 96, height: 68 };
    case 'lamp':
      return { shape: 'can', width: 40, height: 40 };
    case 'diode':
    case 'zener':
      return { shape: 'stick', width: 10, height: 26 };
    default:
      return { shape: 'stick', width: 16, height: 42 };
  }
}

/** Pads from the middle of a part. */
function padsOf({ kind, pins }: Part, height: number): readonly Spot[] {
  if (kind === 'transistor')
    return [
      { x: -15, y: 12 },
      { x: 0, y: -15 },
      { x: 15, y: 12 },
    ];
  if (pins.length === 2)
    return [
      { x: 0, y: -height / 2 - 9 },
      { x: 0, y: height / 2 + 9 },
    ];
  const columns = Math.ceil(pins.length / 2);
  return pins.map((_, i) => ({
    x: 26 * ((i % columns) - (columns - 1) / 2),
    y: (height / 2 + 9) * (i < columns ? -1 : 1),
  }));
}

/** The layout of one board of a machine. */
export function layoutOf(machine: Machine, board: string): Layout {
  const parts = machine.parts.filter((part) => part.board === board && part.kind !== 'connector');
  const sized = parts.map((part) => ({ part, ...measure(part) }));
  const room = sized.map(({ width }) => Math.max(width + 12, 32));
  const rows = rowsOf(room);
  const most = Math.max(...rows.map((row) => row.reduce((sum, i) => sum + room[i]!, 0)));
  const scale = (RIGHT - LEFT) / most;
  const pitch = (BOTTOM - TOP) / rows.length;
  const placed = rows.flatMap((row, k) => {
    let x = 0;
    return row.map((i): PlacedPart => {
      const { part, shape, width, height } = sized[i]!;
      const at = { x: LEFT + (x + room[i]! / 2) * scale, y: TOP + (k + 0.5) * pitch };
      x += room[i]!;
      const spots = padsOf(part, height);
      return {
        part,
        shape,
        at,
        width,
        height,
        pads: new Map(part.pins.map(({ pin }, n) => [pin, moved(at, spots[n]!)])),
      };
    });
  });
  const edges = machine.parts.filter((part) => part.board === board && part.kind === 'connector');
  return { board, parts: [...placed, ...edges.map(edge)], sockets: socketsOf(machine, board) };
}

/** Parts in rows of about the same length, as many as there is room for: their numbers. */
function rowsOf(room: readonly number[]): number[][] {
  const total = room.reduce((sum, width) => sum + width, 0);
  const count = Math.min(Math.floor((BOTTOM - TOP) / ROW), Math.ceil(total / (RIGHT - LEFT)) + 2);
  const rows: number[][] = Array.from({ length: count }, () => []);
  let past = 0;
  room.forEach((width, i) => {
    rows[Math.floor(((past + width / 2) / total) * count)]!.push(i);
    past += width;
  });
  return rows;
}

function edge(part: Part): PlacedPart {
  const step = Math.min(54, (RIGHT - LEFT) / part.pins.length);
  const middle = { x: WIDTH / 2, y: CONTACT.y };
  const pads = new Map(
    part.pins.map(({ pin }, i) => [pin, moved(middle, { x: step * (i - (part.pins.length - 1) / 2), y: 0 })]),
  );
  return { part, shape: 'edge', at: middle, width: step * part.pins.length, height: CONTACT.height, pads };
}

/** A net has its socket on the board that puts it out, or that it is first on. */
function socketsOf(machine: Machine, board: string): Map<string, Spot> {
  const home = (net: string): string =>
    machine.flow.find(({ outputs }) => outputs.includes(net))?.board ??
    pinsByNet(machine).get(net)![0]!.part.board;
  const nets = machine.points
    .filter(({ point, minutes }) => minutes === 1 && home(point) === board)
    .map(({ point }) => point);
  const step = (RIGHT - LEFT) / nets.length;
  return new Map(nets.map((net, i) => [net, { x: LEFT + step * (i + 0.5), y: SOCKET_Y }]));
}

/** Where the points and parts of the machine are on a board: a net at its socket, else at the edge, else at its first part. */
export function marksOf(machine: Machine, layout: Layout): ReadonlyMap<string, Spot> {
  const marks = new Map(layout.parts.map(({ part, at }) => [part.name, at]));
  const edges = layout.parts.filter(({ shape }) => shape === 'edge');
  const pads = [...edges, ...layout.parts].flatMap(({ part, pads }) =>
    part.pins.map(({ pin, net }) => ({ name: `${part.name}.${pin}`, net, spot: pads.get(pin)! })),
  );
  for (const { point } of machine.points) {
    const own = pads.find(({ name }) => name === point);
    const spot = own?.spot ?? layout.sockets.get(point) ?? pads.find(({ net }) => net === point)?.spot;
    if (spot !== undefined && (own !== undefined || pointNet(machine, point) === point))
      marks.set(point, spot);
  }
  return marks;
}

function moved(from: Spot, by: Spot): Spot {
  return { x: from.x + by.x, y: from.y + by.y };
}
