import { formatValue } from '../../quantity/index.ts';
import { shown } from '../finding.ts';
import type { Part, PartKind, Pin } from '../model.ts';
import { PART_KINDS } from '../model.ts';
import { KIND_RULES, type ValueRule, valueText } from '../part-kinds.ts';
import type { Sheet } from '../sheet.ts';
import { numberText, type SheetRow } from '../sheet-row.ts';
import { pinList } from './pins.ts';

/** parts.csv: one part a row. */
export const PARTS: Sheet<Part> = {
  file: 'parts.csv',
  columns: ['board', 'ref', 'kind', 'type', 'value', 'tolerance', 'setting', 'pins', 'note'],
  required: ['board', 'ref', 'kind', 'pins'],
  numeric: ['value', 'tolerance', 'setting'],
  read: part,
  key: ({ name }) => name,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'ref',
    message: ({ name }, first) =>
      `${name} stands in row ${first} already; a reference is given once on a board: rename one or delete the row`,
  },
  cells: (p) => ({
    board: p.board,
    ref: p.ref,
    kind: p.kind,
    type: p.type,
    value: partValueText(p),
    tolerance: p.tolerance === KIND_RULES[p.kind].tolerance ? '' : numberText(p.tolerance),
    setting: numberText(p.setting),
    pins: p.pins.map(({ pin, net }) => `${pin}=${net}`).join(' '),
    note: p.note,
  }),
};

function partValueText(p: Part): string {
  if (p.windings !== undefined) return p.windings.map((ohms) => valueText(ohms, 'Ω')).join(' ');
  if (p.closed !== undefined) return p.closed ? 'closed' : 'open';
  return p.value === undefined ? '' : valueText(p.value, KIND_RULES[p.kind].value?.unit);
}

/**
 * A row of parts.csv as a part. A row of unknown kind is read as `other`, so that its nets are known and the rest of the
 * folder can be checked; the error stands.
 */
function part(row: SheetRow): Part | undefined {
  const board = row.needed('board', 'the name of the board the part is on');
  const ref = row.needed('ref', "the part's reference, such as R14");
  if (/[/:]/.test(board)) {
    row.error(
      'bad-name',
      'board',
      `board ${shown(board)} holds a slash or colon, which part names and faults are split at`,
    );
  }
  if (/[/:.\s]/.test(ref)) {
    row.error(
      'bad-name',
      'ref',
      `reference ${shown(ref)} holds a slash, colon, point or space, which part names are split at`,
    );
  }
  const kind = partKind(row);
  const rule = KIND_RULES[kind];
  const type = row.name('type');
  const pins = pinList(row, kind);
  const tolerance = row.number('tolerance', {
    unit: '%',
    from: 0,
    to: 100,
    wanted: 'a percentage from 0 to 100',
  });
  if (tolerance !== undefined && tolerance > 0 && tolerance < 0.1) {
    row.warning('implausible', 'tolerance', `${tolerance} %: percent are meant here, so 10 for a tenth`);
  }
  const setting = row.number('setting', {
    from: 0,
    to: 1,
    wanted: 'the share of the track between 1 and w, 0 to 1',
  });
  if (setting !== undefined && kind !== 'trimmer')
    row.warning('unused', 'setting', `a ${kind} has no setting; it is not used`);
  if (board === '' || ref === '') return undefined;
  return {
    board,
    ref,
    name: `${board}/${ref}`,
    kind,
    type,
    ...partValue(row, kind, pins),
    tolerance: tolerance ?? rule.tolerance,
    ...(setting !== undefined && kind === 'trimmer' ? { setting } : {}),
    pins,
    note: row.raw('note'),
  };
}

function partKind(row: SheetRow): PartKind {
  const text = row.needed('kind', `one of ${PART_KINDS.join(', ')}`);
  const kind = PART_KINDS.find((known) => known === text.toLowerCase());
  if (kind !== undefined) return kind;
  if (text !== '') {
    const meant = row.suggestion('unknown-word', text, PART_KINDS);
    row.error(
      'unknown-word',
      'kind',
      `kind ${shown(text)} is not known${meant || `; it is one of ${PART_KINDS.join(', ')}`}`,
    );
  }
  return 'other';
}

function partValue(
  row: SheetRow,
  kind: PartKind,
  pins: readonly Pin[],
): Pick<Part, 'value' | 'windings' | 'closed'> {
  const text = row.text('value');
  if (kind === 'switch') return switchPosition(row, text);
  const rule = KIND_RULES[kind].value;
  if (rule === undefined) {
    if (text !== '' && kind !== 'connector' && kind !== 'other') {
      row.warning('unused', 'value', `a ${kind} has no value; ${shown(text)} is not used`);
    }
    return {};
  }
  if (text === '') {
    const wanted = `the ${rule.name} in ${UNIT_NAMES[rule.unit]}`;
    if (rule.needed) row.error('missing', 'value', `empty; a ${kind} needs ${wanted}`);
    else row.warning('missing', 'value', `empty; ${wanted} is not known`);
    return {};
  }
  if (kind !== 'transformer') {
    const value = plausible(row, kind, rule, text);
    return value === undefined ? {} : { value };
  }
  const words = text.split(/\s+/);
  const windings = words.flatMap((word) => plausible(row, kind, rule, word) ?? []);
  const count = new Set(pins.map(({ pin }) => pin.slice(0, -1))).size;
  if (words.length !== count) {
    row.error(
      'bad-pins',
      'value',
      `${words.length} resistances for ${count} windings; give one for each, with spaces between`,
    );
  }
  return { windings };
}

const UNIT_NAMES: Readonly<Record<string, string>> = {
  Ω: 'ohms',
  F: 'farads',
  H: 'henries',
  V: 'volts',
  A: 'amperes',
};

function switchPosition(row: SheetRow, text: string): Pick<Part, 'closed'> {
  const word = text.toLowerCase();
  if (word === 'open' || word === 'closed') return { closed: word === 'closed' };
  if (text === '')
    row.error('missing', 'value', 'empty; the position of the switch belongs here, open or closed');
  else row.error('unknown-word', 'value', `${shown(text)} is no position of a switch; write open or closed`);
  return {};
}

/** The value in `text`, refused when it is out of all reason. */
function plausible(row: SheetRow, kind: PartKind, rule: ValueRule, text: string): number | undefined {
  const value = row.parsed('value', text, { unit: rule.unit });
  if (value === undefined) return undefined;
  const [least, most] = rule.possible;
  if (value >= least && value <= most) {
    if (value < rule.usual[0] || value > rule.usual[1]) {
      row.warning(
        'implausible',
        'value',
        `${formatValue(value, rule.unit)} is unusual for a ${kind}${meant(value, rule)}`,
      );
    }
    return value;
  }
  if (value === 0 && rule.unit === 'Ω') {
    row.error(
      'out-of-range',
      'value',
      `a ${kind} of 0 ohms; a wire is one net under one name, and a link that may fail a closed switch`,
    );
    return undefined;
  }
  const range = `${formatValue(least, rule.unit)} to ${formatValue(most, rule.unit)}`;
  row.error(
    'out-of-range',
    'value',
    `${formatValue(value, rule.unit)} is no ${rule.name} of a ${kind} (${range})${meant(value, rule)}`,
    text,
  );
  return undefined;
}

/** The same figure with a prefix that makes it usual: `; 47u, 47n or 47p is meant?` */
function meant(value: number, { usual }: ValueRule): string {
  const fits = [
    ['M', 1e6],
    ['k', 1e3],
    ['m', 1e-3],
    ['u', 1e-6],
    ['n', 1e-9],
    ['p', 1e-12],
  ] as const;
  const likely = fits.filter(([, size]) => value * size >= usual[0] && value * size <= usual[1]);
  const texts = likely.map(([letter]) => `${numberText(value)}${letter}`);
  return value > 0 && value >= 0.01 && value < 1e5 && texts.length > 0
    ? `; is ${texts.join(' or ')} meant?`
    : '';
}
