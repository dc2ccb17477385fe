/** machine.json as fields and lists of cells. */

import { parseValue } from '../../quantity/index.ts';

export type HeadJson = Readonly<Record<string, unknown>>;

export interface HeadList {
  readonly name: 'rails' | 'units' | 'instruments';
  readonly columns: readonly { readonly name: string; readonly title: string; readonly number?: boolean }[];
}

export const HEAD_LISTS: readonly HeadList[] = [
  {
    name: 'rails',
    columns: [
      { name: 'net', title: 'net' },
      { name: 'volts', title: 'volts', number: true },
      { name: 'tolerance', title: 'tolerance, %', number: true },
    ],
  },
  {
    name: 'units',
    columns: [
      { name: 'id', title: 'unit' },
      { name: 'health', title: 'you believe it is' },
    ],
  },
  {
    name: 'instruments',
    columns: [
      { name: 'id', title: 'meter' },
      { name: 'ohms', title: 'input ohms', number: true },
      { name: 'gain', title: 'gain error, %', number: true },
      { name: 'random', title: 'random error, %', number: true },
      { name: 'volts', title: 'and volts', number: true },
    ],
  },
];

/** The entries of a list as cells. */
export function listCells(json: HeadJson, { name, columns }: HeadList): Record<string, string>[] {
  return entries(json, name).map((entry) =>
    Object.fromEntries(columns.map((column) => [column.name, textOf(entry[column.name])])),
  );
}

/** Cells written into entries of a list; from its length on, new entries. Fields that have no column stay. */
export function withEntries(
  json: HeadJson,
  { name, columns }: HeadList,
  writes: readonly { readonly at: number; readonly cells: Readonly<Record<string, string>> }[],
): HeadJson {
  const list = [...entries(json, name)];
  for (const { at, cells } of writes) {
    const entry: Record<string, unknown> = {
      ...(list[at] ?? (name === 'units' ? { health: 'unknown' } : {})),
    };
    for (const [column, text] of Object.entries(cells)) {
      const numeric = columns.find((one) => one.name === column)?.number === true;
      if (text === '') delete entry[column];
      else entry[column] = numeric ? numberOr(text) : text;
    }
    if (at < list.length) list[at] = entry;
    else list.push(entry);
  }
  return { ...json, [name]: list };
}

export function withoutEntries(json: HeadJson, { name }: HeadList, from: number, to: number): HeadJson {
  return { ...json, [name]: entries(json, name).filter((_, i) => i < from || i > to) };
}

/** A field's text; a number that is one becomes one. */
export function withText(json: HeadJson, field: string, text: string): HeadJson {
  const changed: Record<string, unknown> = { ...json };
  if (field === 'ambient') {
    if (text === '') delete changed.ambient;
    else changed.ambient = numberOr(text);
  } else changed[field] = text;
  return changed;
}

export function textOf(value: unknown): string {
  return value === undefined || value === null ? '' : String(value);
}

/** What cannot be a number stays as it was typed, for the checks to say so. */
function numberOr(text: string): number | string {
  const parsed = parseValue(text, { decimalComma: true });
  return parsed.ok ? parsed.value : text;
}

function entries(json: HeadJson, name: string): readonly Readonly<Record<string, unknown>>[] {
  const list = json[name];
  return (Array.isArray(list) ? list : []).filter(
    (entry): entry is Record<string, unknown> => typeof entry === 'object' && entry !== null,
  );
}
