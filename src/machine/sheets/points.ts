import type { Point } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';

/** Minutes that a reading costs where nothing is said: at a net, and at a pin. Source: the folder format. */
export const NET_MINUTES = 1;
export const PIN_MINUTES = 1.2;

/** The form `BOARD/REF.pin`; whether there is such a pin is another question. */
export const PIN_FORM = /^[^/]+\/[^/.]+\../;

/** points.csv: where a probe can go. */
export const POINTS: Sheet<Point> = {
  file: 'points.csv',
  columns: ['point', 'minutes', 'note', 'caution'],
  required: ['point'],
  numeric: ['minutes'],
  read: point,
  key: ({ point }) => point,
  repeat: {
    severity: 'warning',
    code: 'duplicate',
    column: 'point',
    message: ({ point }, first) => `${point} stands in row ${first} already; that row counts`,
  },
  cells: ({ point, minutes, note, caution }) => ({ point, minutes: numberText(minutes), note, caution }),
};

function point(row: SheetRow): Point | undefined {
  const point = row.needed('point', 'a net, or a pin BOARD/REF.pin');
  const minutes = row.number('minutes', {
    from: 0.001,
    to: 10_000,
    wanted: 'the minutes of a reading, more than 0',
  });
  const usual = PIN_FORM.test(point) ? PIN_MINUTES : NET_MINUTES;
  if (point === '') return undefined;
  const caution = row.text('caution');
  return { point, minutes: minutes ?? usual, note: row.raw('note'), ...(caution === '' ? {} : { caution }) };
}
