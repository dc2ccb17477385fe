import { BUILT_IN_TYPES } from './built-in-types.ts';
import type { MachineDocument, MachineSource } from './document.ts';
import { MACHINE_JSON, type MachineHead, machineJsonText } from './machine-json.ts';
import type { DeviceType, Machine } from './model.ts';
import { defaultPoints } from './nets.ts';
import type { Sheet, SheetContent } from './sheet.ts';
import { withPoint } from './sheet-row.ts';
import { BOARDS } from './sheets/boards.ts';
import { CAPTURE_CHANNELS, CAPTURES } from './sheets/captures.ts';
import { CONDITIONS, type ConditionRow, conditionRows } from './sheets/conditions.ts';
import { FLOW } from './sheets/flow.ts';
import { LOG } from './sheets/log.ts';
import { PARTS } from './sheets/parts.ts';
import { PHOTOGRAPHS } from './sheets/photographs.ts';
import { PLACEMENTS } from './sheets/placements.ts';
import { POINTS } from './sheets/points.ts';
import { READINGS } from './sheets/readings.ts';
import { STATES, type StateSteps, stateRows } from './sheets/states.ts';
import { TYPES } from './sheets/types.ts';
import { eachRow, rowText } from './table.ts';

/**
 * The texts of a machine folder, by file name: a plain machine written in the format's own columns.
 *
 * A file that would say nothing is left out: types.csv when all types are built in, points.csv when the points are
 * those of a folder without one, and so on.
 */
export function machineFiles(machine: Machine): Map<string, string> {
  return folderTexts(machine, undefined);
}

/**
 * The texts of a document's folder, by file name. What was read and not changed comes out as it was, to the letter; in a changed file the
 * rows that did not change do, with unknown columns, the order of columns and rows, and rows that could not be read. A changed
 * table that was written with semicolons or decimal commas turns to the format's own form.
 *
 * Files that were refused as a whole, and those the format does not know, are not in the result: leave them where they are.
 */
export function writeMachine(document: Pick<MachineDocument, 'machine' | 'source'>): Map<string, string> {
  const { machine, source } = document;
  return machine === undefined ? new Map(source.texts) : folderTexts(machine, source);
}

function folderTexts(machine: Machine, source: MachineSource | undefined): Map<string, string> {
  const files = new Map<string, string>();
  const set = (file: string, text: string | undefined): void => {
    if (text !== undefined && !source?.refused.has(file)) files.set(file, text);
  };
  const before = source?.machine;
  set(MACHINE_JSON, jsonText(machine, source));
  set(
    PARTS.file,
    sheetText(PARTS, machine.parts, before?.parts, source) ?? (before ? undefined : headerText(PARTS)),
  );
  set(TYPES.file, sheetText(TYPES, ownTypes(machine, source), before && ownTypes(before, source), source));
  set(
    CONDITIONS.file,
    sheetText(
      CONDITIONS,
      statedConditions(machine, source),
      before && statedConditions(before, source),
      source,
    ),
  );
  const listed = new Set(listedStates(source).map(({ condition }) => condition));
  const stateWords = (of: Machine): StateSteps[] => stateRows(of.conditions, listed);
  set(STATES.file, sheetText(STATES, stateWords(machine), before && stateWords(before), source));
  set(BOARDS.file, sheetText(BOARDS, machine.boards ?? [], before && (before.boards ?? []), source));
  set(
    POINTS.file,
    sheetText(POINTS, ownPoints(machine, source), before && ownPoints(before, source), source),
  );
  set(READINGS.file, sheetText(READINGS, machine.readings, before?.readings, source));
  set(FLOW.file, sheetText(FLOW, machine.flow, before?.flow, source));
  for (const file of PAPERS) set(file, source?.texts.get(file));
  return files;
}

/** Files that say nothing of the machine itself: they are written back as they were read. */
const PAPERS: readonly string[] = [LOG, PHOTOGRAPHS, PLACEMENTS, CAPTURES, CAPTURE_CHANNELS].map(
  ({ file }) => file,
);

function listedStates(source: MachineSource | undefined): readonly StateSteps[] {
  return (source?.sheets.get(STATES.file)?.records ?? []) as readonly StateSteps[];
}

/** The rows of conditions.csv. One that only states.csv declares needs none, as long as such stand last: so they are read. */
function statedConditions({ conditions }: Machine, source: MachineSource | undefined): ConditionRow[] {
  const own = (source?.sheets.get(CONDITIONS.file)?.records ?? []) as readonly ConditionRow[];
  const stated = new Set(own.map(({ condition }) => condition));
  const declared = listedStates(source)
    .map(({ condition }) => condition)
    .filter((name) => !stated.has(name));
  const bare = conditions.filter(
    ({ name, drives, hints }) => drives.length + hints.length === 0 && declared.includes(name),
  );
  const last = conditions.slice(conditions.length - bare.length);
  const inPlace = last.every((condition, i) => condition === bare[i]);
  const inOrder = bare
    .map(({ name }) => declared.indexOf(name))
    .every((at, i, all) => i === 0 || at > all[i - 1]!);
  return conditionRows(
    inPlace && inOrder ? conditions.slice(0, conditions.length - bare.length) : conditions,
  );
}

function jsonText(machine: Machine, source: MachineSource | undefined): string {
  const text = source?.texts.get(MACHINE_JSON);
  const head = JSON.stringify(headOf(machine));
  if (text !== undefined && source !== undefined && head === JSON.stringify(headOf(source.machine)))
    return text;
  return machineJsonText(headOf(machine), source?.json?.raw);
}

function headOf({ name, summary, reference, ambient, rails, units, instruments }: Machine): MachineHead {
  return { name, summary, reference, ambient, rails, units, instruments };
}

/** The types that a folder has to state: those that differ from the built-in table, and those it stated before. */
function ownTypes(machine: Machine, source: MachineSource | undefined): DeviceType[] {
  const stated = new Set(
    (source?.sheets.get(TYPES.file)?.records ?? []).map((type) => (type as DeviceType).type),
  );
  return [...machine.types.values()].filter((type) => {
    const known = BUILT_IN_TYPES.get(type.type);
    return known === undefined || stated.has(type.type) || (known !== type && !sameCells(TYPES, known, type));
  });
}

function ownPoints(machine: Machine, source: MachineSource | undefined): Machine['points'] {
  if (source?.texts.has(POINTS.file)) return machine.points;
  // Points that came with a folder without points.csv follow the wiring, so they are not pinned down when it changes.
  if (machine.points === source?.machine.points) return [];
  const usual = defaultPoints(machine);
  const same =
    usual.length === machine.points.length &&
    usual.every((point, i) => sameCells(POINTS, point, machine.points[i]!));
  return same ? [] : machine.points;
}

function sameCells<R>(sheet: Sheet<R>, a: R, b: R): boolean {
  if (a === b) return true;
  const [one, other] = [sheet.cells(a), sheet.cells(b)];
  return sheet.columns.every((column) => (one[column] ?? '') === (other[column] ?? ''));
}

function headerText<R>(sheet: Sheet<R>): string {
  return `${sheet.columns.join(',')}\n`;
}

/** The text of a table, or `undefined` when there is neither a record nor a file that held some. */
function sheetText<R>(
  sheet: Sheet<R>,
  records: readonly R[],
  before: readonly R[] | undefined,
  source: MachineSource | undefined,
): string | undefined {
  const text = source?.texts.get(sheet.file);
  const content = source?.sheets.get(sheet.file) as SheetContent<R> | undefined;
  if (text !== undefined && before !== undefined) {
    const same =
      records === before ||
      (records.length === before.length &&
        records.every((record, i) => sameCells(sheet, record, before[i]!)));
    if (same || content === undefined) return text;
    return changedText(sheet, records, text, content);
  }
  if (records.length === 0) return undefined;
  // A column that nothing fills is left out, unless the format asks for it.
  const cells = records.map((record) => sheet.cells(record));
  const optional = ['setting', 'caution', 'wave', 'watch'];
  const columns = sheet.columns.filter(
    (column) => !optional.includes(column) || cells.some((row) => row[column]),
  );
  return `${[columns, ...cells.map((row) => columns.map((column) => row[column] ?? ''))].map((row) => rowText(row, ',')).join('\n')}\n`;
}

/** Keys of records, with a count where several are alike. */
function keysOf<R>(sheet: Sheet<R>, records: readonly R[]): string[] {
  const counts = new Map<string, number>();
  return records.map((record) => {
    const key = sheet.key(record);
    const count = (counts.get(key) ?? 0) + 1;
    counts.set(key, count);
    return count === 1 ? key : `${key}\n#${count}`;
  });
}

function changedText<R>(
  sheet: Sheet<R>,
  records: readonly R[],
  text: string,
  { records: read, rows, layout }: SheetContent<R>,
): string {
  const { separator, decimalComma, headings, positions } = layout!;
  const standard = separator === ',' && !decimalComma;
  const now = new Map(keysOf(sheet, records).map((key, i) => [key, records[i]!]));
  const numeric = sheet.numeric.flatMap((column) => positions.get(column) ?? []);
  const readKeys = keysOf(sheet, read);
  const keyOfRow = new Map(rows.map((row, i) => [row, readKeys[i]!]));
  const recordOfKey = new Map(readKeys.map((key, i) => [key, read[i]!]));
  // A column that the file lacks is added once a record says more there than an empty cell did.
  const added = sheet.columns.filter((column) => {
    if (positions.has(column)) return false;
    return [...now].some(([key, record]) => {
      const was = recordOfKey.get(key);
      return (sheet.cells(record)[column] ?? '') !== ((was && sheet.cells(was)[column]) ?? '');
    });
  });

  /** The row of a record: `old` where its cells say the same, which keeps how a number was written. */
  const merged = (record: R, was: R | undefined, old: readonly string[]): string => {
    const cells = sheet.cells(record);
    const earlier = was === undefined ? {} : sheet.cells(was);
    const row = headings.map((_, position) => old[position] ?? '');
    for (const [column, position] of positions) {
      if (was === undefined || (cells[column] ?? '') !== (earlier[column] ?? ''))
        row[position] = cells[column] ?? '';
    }
    return rowText([...row, ...added.map((column) => cells[column] ?? '')], ',');
  };

  // The rows as they stood, each with the key of its record if it made one; rows of records that are gone fall away.
  const kept: { readonly key: string | undefined; readonly line: string }[] = [];
  eachRow(text, separator, ({ row, cells, from, to }) => {
    const raw = text.slice(from, to);
    const key = keyOfRow.get(row);
    if (row === 1) return true;
    if (key === undefined) {
      kept.push({ key, line: standard || cells === undefined ? raw : rowText(cells, ',') });
      return true;
    }
    const record = now.get(key);
    if (record === undefined) return true;
    const was = recordOfKey.get(key)!;
    const pointed = cells!.map((cell, i) => (decimalComma && numeric.includes(i) ? withPoint(cell) : cell));
    const untouched = standard && added.length === 0 && sameCells(sheet, record, was);
    kept.push({ key, line: untouched ? raw : merged(record, was, pointed) });
    return true;
  });
  const lineOf = new Map(kept.map(({ key, line }) => [key, line]));
  const line = (key: string): string => lineOf.get(key) ?? merged(now.get(key)!, undefined, []);

  // Rows stay where they are and new ones follow, as long as that reads back in the machine's order; else that order rules.
  const keys = [...now.keys()];
  const fresh = keys.filter((key) => !lineOf.has(key));
  const inPlace = [...kept.flatMap(({ key }) => key ?? []), ...fresh];
  const gather = sheet.gather ?? ((rows: readonly R[]) => rows);
  const back = keysOf(sheet, gather(inPlace.map((key) => now.get(key)!)));
  const rowsNow = back.every((key, i) => key === keys[i])
    ? [...kept.map((row) => row.line), ...fresh.map(line)]
    : [...kept.filter(({ key }) => key === undefined).map((row) => row.line), ...keys.map(line)];
  const lines = [rowText([...headings, ...added], ','), ...rowsNow];
  const end = text.includes('\r\n') ? '\r\n' : '\n';
  return `${text.startsWith('\uFEFF') ? '\uFEFF' : ''}${lines.join(end)}${end}`;
}
