import { shown } from '../finding.ts';
import type { Condition } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';

/** The steps in words that bring a unit into a condition. */
export interface StateSteps {
  readonly condition: string;
  readonly steps: string;
  readonly note: string;
  readonly watch?: Condition['watch'];
}

/** states.csv: how each condition is set up. It may also declare one that has no row in conditions.csv. */
export const STATES: Sheet<StateSteps> = {
  file: 'states.csv',
  columns: ['condition', 'steps', 'note', 'watch'],
  required: ['condition'],
  numeric: [],
  read: state,
  key: ({ condition }) => condition,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'condition',
    message: ({ condition }, first) => `${condition} stands in row ${first} already; join the two rows`,
  },
  cells: ({ condition, steps, note, watch }) => ({ condition, steps, note, watch: watchText(watch) }),
};

function state(row: SheetRow): StateSteps | undefined {
  const condition = row.needed('condition', 'the name of the condition');
  const watch = watchOf(row);
  if (condition === '') return undefined;
  const words = { condition, steps: row.text('steps'), note: row.raw('note') };
  return watch === undefined ? words : { ...words, watch };
}

const SECONDS = { unit: 's', from: 0, to: 1e6, wanted: 'seconds from the begin on, up to 1e6' } as const;

/** `2m..5m` or `5m`, which begins at 0. */
function watchOf(row: SheetRow): Condition['watch'] {
  const text = row.text('watch');
  if (text === '') return undefined;
  const [first = '', second, ...others] = text.split('..');
  if (others.length > 0 || first.trim() === '' || second?.trim() === '') {
    row.error(
      'out-of-range',
      'watch',
      `${shown(text)} is no stretch of time; write 5m, or 2m..5m, in seconds`,
    );
    return undefined;
  }
  const from = second === undefined ? 0 : row.parsed('watch', first.trim(), SECONDS);
  const to = row.parsed('watch', (second ?? first).trim(), SECONDS);
  if (from === undefined || to === undefined) return undefined;
  if (to > from) return { from, to };
  row.error(
    'out-of-range',
    'watch',
    `${shown(text)} ends before it has begun; write the earlier instant first`,
  );
  return undefined;
}

function watchText(watch: Condition['watch']): string {
  if (watch === undefined) return '';
  return watch.from === 0 ? numberText(watch.to) : `${numberText(watch.from)}..${numberText(watch.to)}`;
}

/** The rows of conditions that have steps or a note, or that the folder has `listed`. */
export function stateRows(conditions: readonly Condition[], listed: ReadonlySet<string>): StateSteps[] {
  return conditions.flatMap(({ name, steps = '', note = '', watch }) =>
    steps !== '' || note !== '' || watch !== undefined || listed.has(name)
      ? [{ condition: name, steps, note, ...(watch === undefined ? {} : { watch }) }]
      : [],
  );
}
