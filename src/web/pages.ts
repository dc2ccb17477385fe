/** The pages of one machine, in the order of the running head. G, then the letter, goes there from anywhere. */

export interface PageEntry {
  readonly name: string;
  /** Marked in the name. */
  readonly letter: string;
  path(machine: string): string;
}

export const PAGES: readonly PageEntry[] = [
  { name: 'Bench', letter: 'b', path: (machine) => `/m/${encodeURIComponent(machine)}/bench` },
  { name: 'Board', letter: 'o', path: (machine) => `/m/${encodeURIComponent(machine)}/board` },
  { name: 'Flow', letter: 'f', path: (machine) => `/m/${encodeURIComponent(machine)}/flow` },
  { name: 'Waves', letter: 'w', path: (machine) => `/m/${encodeURIComponent(machine)}/waves` },
  { name: 'Compare', letter: 'c', path: (machine) => `/m/${encodeURIComponent(machine)}/compare` },
  { name: 'Log', letter: 'l', path: (machine) => `/m/${encodeURIComponent(machine)}/log` },
  { name: 'Print', letter: 'p', path: (machine) => `/m/${encodeURIComponent(machine)}/print/sheet` },
  { name: 'Sheets', letter: 's', path: (machine) => `/m/${encodeURIComponent(machine)}/sheets` },
  { name: 'Changes', letter: 'h', path: (machine) => `/m/${encodeURIComponent(machine)}/changes` },
];

/** The list of all machines is a page, too, and belongs to none. */
export const MACHINES: PageEntry = { name: 'Machines', letter: 'm', path: () => '/' };
