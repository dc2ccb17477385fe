import { shown } from '../finding.ts';
import type { Condition, Drive, Hint } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';
import { voltsAt } from '../wave/drive-wave.ts';
import { formatWave, parseWave } from '../wave/wave-text.ts';
import type { StateSteps } from './states.ts';

/** A row of conditions.csv. With role `none` it only names a condition in which nothing is driven. */
export interface ConditionRow {
  readonly condition: string;
  readonly role: 'drive' | 'hint' | 'none';
  readonly net: string;
  readonly volts: number;
  readonly ohms: number;
  readonly wave?: Drive['wave'];
}

/** conditions.csv: a row for each net concerned in a condition. */
export const CONDITIONS: Sheet<ConditionRow> = {
  file: 'conditions.csv',
  columns: ['condition', 'net', 'role', 'volts', 'ohms', 'wave'],
  required: ['condition', 'net', 'role', 'volts'],
  numeric: ['volts', 'ohms'],
  read: conditionRow,
  key: ({ condition, role, net }) => `${role}\n${net}\n${condition}`,
  repeat: {
    severity: 'error',
    code: 'two-drives',
    column: 'net',
    message: ({ role, net, condition }, first) =>
      role === 'none'
        ? `condition ${shown(condition)} stands in row ${first} already`
        : `net ${net} has a ${role} in condition ${shown(condition)} already, in row ${first}; a net has one: delete a row or rename the condition`,
  },
  gather: (rows) => conditionRows(conditionsOf(rows)),
  cells: ({ condition, role, net, volts, ohms, wave }) =>
    role === 'none'
      ? { condition }
      : {
          condition,
          net,
          role,
          volts: numberText(volts),
          ohms: role === 'hint' || ohms === 0 ? '' : numberText(ohms),
          wave: wave === undefined ? '' : formatWave(wave),
        },
};

function conditionRow(row: SheetRow): ConditionRow | undefined {
  const condition = row.needed('condition', 'the name of the condition');
  const net = row.text('net');
  const word = row.text('role').toLowerCase();
  if (net === '' && word === '' && row.text('volts') === '' && row.text('wave') === '') {
    return condition === '' ? undefined : { condition, role: 'none', net, volts: 0, ohms: 0 };
  }
  row.needed('net', 'the net that is driven or hinted');
  if (word !== 'drive' && word !== 'hint') {
    row.error(
      'unknown-word',
      'role',
      word === ''
        ? 'empty; the role is drive or hint'
        : `role ${shown(word)} is not known; it is drive or hint`,
    );
  }
  const wave = word === 'hint' ? undefined : waveOf(row);
  if (row.text('wave') === '') row.needed('volts', 'the voltage of the net');
  else if (wave?.kind === 'capture') row.needed('volts', 'the voltage of the net before the capture begins');
  const stated = row.number('volts', {
    unit: 'V',
    from: -50_000,
    to: 50_000,
    wanted: 'volts, not beyond 50 kV',
  });
  const ohms = row.number('ohms', {
    unit: 'Ω',
    from: 0,
    to: 1e12,
    wanted: 'a resistance in ohms, 0 for a stiff source',
  });
  if (word === 'hint' && ohms !== undefined)
    row.warning('unused', 'ohms', 'a hint is not fed through a resistance; it is not used');
  if (word === 'hint' && row.text('wave') !== '')
    row.error('unused', 'wave', 'a hint does not move a net; make it a drive, or empty the cell');
  const volts = stated ?? (wave === undefined || wave.kind === 'capture' ? undefined : voltsAt(wave, 0));
  if (row.faulty || volts === undefined || (word !== 'drive' && word !== 'hint')) return undefined;
  return {
    ...{ condition, role: word, net, volts, ohms: word === 'drive' ? (ohms ?? 0) : 0 },
    ...(wave === undefined ? {} : { wave }),
  };
}

function waveOf(row: SheetRow): Drive['wave'] {
  const text = row.text('wave');
  if (text === '') return undefined;
  const wave = parseWave(text);
  if (wave.ok) return wave.value;
  const { word, reason } = wave;
  row.error('bad-wave', 'wave', reason, word || text);
  return undefined;
}

/**
 * The rows gathered by condition, in the order in which the conditions first stand; those that are only declared by their
 * steps follow, with nothing driven.
 */
export function conditionsOf(rows: readonly ConditionRow[], states: readonly StateSteps[] = []): Condition[] {
  const gathered = new Map<string, { drives: Drive[]; hints: Hint[] }>();
  for (const { condition, role, net, volts, ohms, wave } of rows) {
    const entry = gathered.get(condition) ?? { drives: [], hints: [] };
    gathered.set(condition, entry);
    if (role === 'drive') entry.drives.push({ net, volts, ohms, ...(wave === undefined ? {} : { wave }) });
    if (role === 'hint') entry.hints.push({ net, volts });
  }
  const words = new Map(states.map((state) => [state.condition, state]));
  for (const { condition } of states)
    if (!gathered.has(condition)) gathered.set(condition, { drives: [], hints: [] });
  return [...gathered].map(([name, { drives, hints }]) => {
    const { steps = '', note = '', watch } = words.get(name) ?? {};
    return {
      ...{ name, drives, hints },
      ...(watch === undefined ? {} : { watch }),
      ...(steps === '' ? {} : { steps }),
      ...(note === '' ? {} : { note }),
    };
  });
}

/** The rows of conditions: drives, then hints; a bare row for one with neither. */
export function conditionRows(conditions: readonly Condition[]): ConditionRow[] {
  return conditions.flatMap(({ name: condition, drives, hints }): ConditionRow[] => {
    if (drives.length + hints.length === 0) return [{ condition, role: 'none', net: '', volts: 0, ohms: 0 }];
    return [
      ...drives.map((drive): ConditionRow => ({ condition, role: 'drive', ...drive })),
      ...hints.map(({ net, volts }): ConditionRow => ({ condition, role: 'hint', net, volts, ohms: 0 })),
    ];
  });
}
