import type { Condition } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import type { SheetRow } from '../sheet-row.ts';

/** The steps in words that bring a unit into a condition. */
export interface StateSteps {
  readonly condition: string;
  readonly steps: string;
  readonly note: string;
}

/** states.csv: how each condition is set up. It may also declare one that has no row in conditions.csv. */
export const STATES: Sheet<StateSteps> = {
  file: 'states.csv',
  columns: ['condition', 'steps', 'note'],
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
  cells: ({ condition, steps, note }) => ({ condition, steps, note }),
};

function state(row: SheetRow): StateSteps | undefined {
  const condition = row.needed('condition', 'the name of the condition');
  return condition === '' ? undefined : { condition, steps: row.text('steps'), note: row.raw('note') };
}

/** The rows of conditions that have steps or a note, or that the folder has `listed`. */
export function stateRows(conditions: readonly Condition[], listed: ReadonlySet<string>): StateSteps[] {
  return conditions.flatMap(({ name, steps = '', note = '' }) =>
    steps !== '' || note !== '' || listed.has(name) ? [{ condition: name, steps, note }] : [],
  );
}
