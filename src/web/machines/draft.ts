/** A machine from nothing, as it is typed, and what the server is asked to make of it. */

import { parseValue } from '../../quantity/index.ts';
import type { NewMachine } from '../../server/index.ts';
import { contacts, words } from './contacts.ts';

export type Health = 'healthy' | 'faulty' | 'unknown';

export interface Draft {
  readonly name: string;
  readonly summary: string;
  readonly reference: string;
  readonly rails: readonly { readonly net: string; readonly volts: string }[];
  readonly units: readonly { readonly id: string; readonly health: Health }[];
  readonly boards: readonly BoardDraft[];
  readonly states: readonly { readonly name: string; readonly steps: string }[];
}

export interface BoardDraft {
  readonly name: string;
  readonly contacts: string;
  readonly testPoints: string;
  readonly inputs: string;
  readonly outputs: string;
  readonly caution: string;
}

export const EMPTY_BOARD: BoardDraft = {
  name: '',
  contacts: '',
  testPoints: '',
  inputs: '',
  outputs: '',
  caution: '',
};

export const EMPTY_DRAFT: Draft = {
  name: '',
  summary: '',
  reference: '0V',
  rails: [{ net: '', volts: '' }],
  units: [
    { id: '', health: 'healthy' },
    { id: '', health: 'faulty' },
  ],
  boards: [EMPTY_BOARD],
  states: [{ name: 'at rest', steps: 'Switch on, touch nothing.' }],
};

/** By the path of its field: `rails.0.volts`. */
export type Troubles = ReadonlyMap<string, string>;

/** What to make, or what is missing or wrong, field by field. A row with nothing in it is no row. */
export function newMachineOf(
  draft: Draft,
): { readonly machine: NewMachine } | { readonly troubles: Troubles } {
  const troubles = new Map<string, string>();
  const need = (path: string, text: string, what: string) => {
    if (text.trim() === '') troubles.set(path, what);
    return text.trim();
  };
  const name = need('name', draft.name, 'A machine needs a name.');
  const reference = need('reference', draft.reference, 'The net that every voltage is measured against.');
  const rails = filled(draft.rails).map(({ row, at }) => ({
    net: word(need(`rails.${at}.net`, row.net, 'The name of the rail’s net.'), `rails.${at}.net`, troubles),
    volts: volts(row.volts, `rails.${at}.volts`, troubles),
  }));
  const units = draft.units.flatMap(({ id, health }, at) =>
    id.trim() === '' ? [] : [{ id: unique(draft.units, 'id', at, `units.${at}.id`, troubles), health }],
  );
  if (units.length === 0)
    troubles.set('units.0.id', 'At least one unit: what it is called, or where it stands.');
  const known = new Set([reference, ...rails.map(({ net }) => net)]);
  const boards = filled(draft.boards).map(({ row, at }) => {
    const board = word(
      need(`boards.${at}.name`, row.name, 'The board’s name, or the number of its slot.'),
      `boards.${at}.name`,
      troubles,
    );
    unique(draft.boards, 'name', at, `boards.${at}.name`, troubles);
    const pins = contacts(row.contacts, board, known);
    if (!pins.ok) troubles.set(`boards.${at}.contacts`, pins.reason);
    const nets = (text: string) => words(text).map((one) => ownNet(one, board));
    const [testPoints, inputs, outputs] = [words(row.testPoints), nets(row.inputs), nets(row.outputs)];
    return {
      name: board,
      pins: pins.ok ? [...pins.pins] : [],
      ...(testPoints.length > 0 ? { testPoints } : {}),
      ...(inputs.length > 0 ? { inputs } : {}),
      ...(outputs.length > 0 ? { outputs } : {}),
      ...(row.caution.trim() === '' ? {} : { caution: row.caution.trim() }),
    };
  });
  if (boards.length === 0)
    troubles.set('boards.0.name', 'At least one board: its contacts are where to read first.');
  else if (boards.every(({ pins, testPoints }) => pins.length === 0 && !testPoints))
    troubles.set('boards.0.contacts', 'At least one contact or test point, to have something to read.');
  const states = filled(draft.states).map(({ row, at }) => {
    need(`states.${at}.name`, row.name, 'What the state is called.');
    return { name: unique(draft.states, 'name', at, `states.${at}.name`, troubles), steps: row.steps.trim() };
  });
  if (states.length === 0)
    troubles.set('states.0.name', 'At least one state: how both units are held while they are read.');
  if (troubles.size > 0) return { troubles };
  const summary = draft.summary.trim();
  return {
    machine: { name, ...(summary === '' ? {} : { summary }), reference, rails, units, boards, states },
  };
}

/** A contact's number means the board's own net of that contact. */
function ownNet(one: string, board: string): string {
  return /^\d{1,3}[a-d]?$/.test(one) ? `${board}.${one}` : one;
}

function filled<T extends object>(rows: readonly T[]): { row: T; at: number }[] {
  return rows.flatMap((row, at) =>
    Object.values(row).some((text: unknown) => String(text).trim() !== '') ? [{ row, at }] : [],
  );
}

function volts(text: string, path: string, troubles: Map<string, string>): number {
  const parsed = parseValue(text, { unit: 'V', decimalComma: true });
  if (parsed.ok) return parsed.value;
  troubles.set(path, text.trim() === '' ? 'Its voltage, with the sign.' : `${parsed.reason}.`);
  return 0;
}

/** Names of nets and boards are split at these. */
function word(text: string, path: string, troubles: Map<string, string>): string {
  if (/[\s/:=]/.test(text)) troubles.set(path, 'No space, slash, colon or equals sign in this name.');
  return text;
}

function unique<K extends string>(
  rows: readonly Readonly<Record<K, string>>[],
  key: K,
  at: number,
  path: string,
  troubles: Map<string, string>,
): string {
  const text = rows[at]![key].trim();
  if (text !== '' && rows.findIndex((row) => row[key].trim() === text) < at)
    troubles.set(path, `“${text}” stands here twice.`);
  return text;
}
