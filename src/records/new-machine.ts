import { cellTableText, SHEET_COLUMNS } from '../machine/index.ts';
import type { NewMachine } from './record-types.ts';

/** °C, where nothing is said: a room. Common practice, no source. */
const AMBIENT = 22;
/** Percent, a regulated supply. Common practice, no source. */
const RAIL_TOLERANCE = 5;

/** The folder of a machine described in a few words: a connector for each board, nothing traced yet. */
export function newMachineFiles(machine: NewMachine): Map<string, Uint8Array> {
  const { name, summary = '', reference, ambient = AMBIENT, rails, units, boards } = machine;
  const head = {
    format: 1,
    name,
    summary,
    reference,
    ambient,
    rails: rails.map(({ net, volts, tolerance = RAIL_TOLERANCE }) => ({ net, volts, tolerance })),
    units,
  };
  const table = (file: string, rows: readonly Readonly<Record<string, string | undefined>>[]): string => {
    const columns = SHEET_COLUMNS.get(file)!;
    return cellTableText({
      columns,
      rows: rows.map((cells) => columns.map((column) => cells[column] ?? '')),
    });
  };
  const files: Record<string, string> = {
    'machine.json': `${JSON.stringify(head, null, 2)}\n`,
    'parts.csv': table(
      'parts.csv',
      boards.flatMap(({ name: board, pins, testPoints = [] }) => [
        ...(pins.length > 0 ? [{ board, ref: 'J1', kind: 'connector', pins: pinList(pins) }] : []),
        ...(testPoints.length > 0
          ? [{ board, ref: 'TP', kind: 'connector', pins: testPointList(board, testPoints) }]
          : []),
      ]),
    ),
    'boards.csv': table(
      'boards.csv',
      boards.map((board) => ({ board: board.name, caution: board.caution })),
    ),
  };
  const ways = boards.filter(({ inputs, outputs }) => inputs?.length || outputs?.length);
  if (ways.length > 0)
    files['flow.csv'] = table(
      'flow.csv',
      ways.map(({ name: board, inputs, outputs }) => ({
        ...{ board, stage: 'board', inputs: inputs?.join(' '), outputs: outputs?.join(' ') },
      })),
    );
  if (machine.states?.length)
    files['states.csv'] = table(
      'states.csv',
      machine.states.map((state) => ({ condition: state.name, steps: state.steps })),
    );
  if (machine.points?.length) files['points.csv'] = table('points.csv', machine.points);
  return new Map(Object.entries(files).map(([file, text]) => [file, new TextEncoder().encode(text)]));
}

function pinList(pins: readonly string[]): string {
  return pins.map((pin, i) => (pin.includes('=') ? pin : `${i + 1}=${pin}`)).join(' ');
}

/** A test point without a net is on one of its own. */
function testPointList(board: string, points: readonly string[]): string {
  return points.map((point) => (point.includes('=') ? point : `${point}=${board}.${point}`)).join(' ');
}
