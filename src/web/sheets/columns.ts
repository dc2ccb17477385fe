/** The sheets of a machine in the words of the trade: what each is for, and how wide its columns are. */

import { PART_KINDS, QUANTITIES } from '../../machine/index.ts';
import type { SheetName } from '../../server/index.ts';

export interface SheetWords {
  readonly name: string;
  /** What stands in it, in a sentence or two. */
  readonly about: string;
}

export type SheetPage = SheetName | 'machine' | 'wiring' | 'history';

/** In the order in which one writes a machine down. */
export const SHEET_PAGES: Readonly<Record<SheetPage, SheetWords>> = {
  machine: { name: 'Machine', about: 'Its name, the supplies, the units and the meters they are read with.' },
  boards: {
    name: 'Boards',
    about: 'What to know of a board before it is touched. A board needs no row here.',
  },
  points: {
    name: 'Points',
    about:
      'Where a probe can go: a net, or a pin as BOARD/REF.pin; the minutes that a reading there costs; a caution. Without a row every net is a point.',
  },
  states: {
    name: 'States',
    about: 'The steps in words that bring a unit into each state, so that both are in the same one.',
  },
  conditions: {
    name: 'Drives',
    about:
      'What each state feeds from outside: a net, volts, through ohms, and how it moves where the state runs. A hint names the level near which a net is expected, where a circuit has several.',
  },
  parts: {
    name: 'Parts',
    about:
      'One part a row. Pins as pin=net with spaces between; the same net is the same wire, on whatever board.',
  },
  wiring: {
    name: 'Wiring',
    about: 'Every pin with its net, part by part. A pin without a net is not traced yet.',
  },
  types: {
    name: 'Types',
    about: 'What a type number means, where the built-in table does not know it or you know better.',
  },
  flow: {
    name: 'Flow',
    about: 'The way of the signal through what is not traced: nets that a stage takes in and puts out.',
  },
  readings: {
    name: 'Readings',
    about:
      'What was read and counts. A reading that is changed here is replaced by a new one, and stays in the history.',
  },
  history: {
    name: 'History',
    about: 'Every reading ever taken, those included that a later one has replaced.',
  },
};

/** Columns of a sheet under other headings than the folder's. */
const TITLES: Readonly<Record<string, string>> = {
  condition: 'state',
  taken_at: 'taken at',
  hfe_min: 'hFE least',
  hfe_typ: 'hFE usual',
  hfe_max: 'hFE most',
  tolerance: 'tolerance, %',
  volts: 'volts',
  ohms: 'through ohms',
  ambient: 'room, °C',
};

export function columnTitle(column: string): string {
  return TITLES[column] ?? column.split('\u0000', 1)[0]!;
}

/** Words that a column can hold, to choose from while one writes. */
export function columnWords(sheet: SheetPage, column: string): readonly string[] {
  if (sheet === 'parts' && column === 'kind') return PART_KINDS;
  if (sheet === 'types' && column === 'kind') return ['transistor', 'diode', 'zener'];
  if (sheet === 'types' && column === 'polarity') return ['pnp', 'npn'];
  if (sheet === 'types' && column === 'material') return ['ge', 'si'];
  if (sheet === 'conditions' && column === 'role') return ['drive', 'hint'];
  if (sheet === 'readings' && column === 'quantity') return QUANTITIES.filter((one) => !one.includes(':'));
  return [];
}

/** Which sheet's file a page shows, for its findings. */
export function fileOfPage(page: SheetPage): string {
  return page === 'machine' ? 'machine.json' : page === 'wiring' ? 'parts.csv' : `${page}.csv`;
}

const LEAST = 5.25;
const MOST = 30;
/** Of a cell beside its text, rem. */
const ROOM = 1.25;
/** Rem of a usual character at row size. */
const CHARACTER = 0.64;
/** So many rows say how wide a column is. */
const LOOKED_AT = 400;

/** The width of a column in rem, from what stands in it: all but a few cells are seen whole. */
export function columnWidth(title: string, cells: readonly string[]): number {
  const lengths = cells
    .slice(0, LOOKED_AT)
    .map(({ length }) => length)
    .sort((a, b) => a - b);
  const usual = lengths[Math.floor(lengths.length * 0.97)] ?? 0;
  const width = Math.max(title.length, usual) * CHARACTER + ROOM;
  return Math.min(MOST, Math.max(LEAST, Math.round(width * 4) / 4));
}
