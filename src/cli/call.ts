import type { Machine } from '../machine/index.ts';
import {
  type FileWork,
  type MachinePlace,
  openFolder,
  type TableWork,
  type UnitChoice,
} from '../workbench/index.ts';
import { type Figures, figures, plural } from './numbers.ts';
import { Progress } from './progress.ts';
import { wrapped } from './table.ts';
import { type Paint, paint, type Terminal } from './terminal.ts';

/** Options as they stand on a command line; a command knows those that it declares. */
export interface Options {
  readonly unit?: string;
  readonly condition?: string;
  readonly fault?: string;
  /** °C. */
  readonly ambient?: number;
  /** The record's file. */
  readonly record?: string;
  /** The folder that is written. */
  readonly to?: string;
  /** The machine's name in the record. */
  readonly name?: string;
  /** What is wrong with the demo machine, the seed of its two units, and how much of them was read. */
  readonly scenario?: string;
  readonly seed?: number;
  readonly readings?: 'evening' | 'all';
  /** Of captures: see the help of `capture`, `measure` and `match`. */
  readonly into?: string;
  readonly point?: readonly string[];
  readonly takenAt?: string;
  readonly instrument?: string;
  readonly note?: string;
  readonly separator?: string;
  readonly decimal?: string;
  readonly interval?: string;
  readonly probe?: readonly string[];
  readonly offset?: readonly string[];
  readonly units?: readonly string[];
  readonly fullScale?: string;
  readonly channel?: string;
  readonly polarity?: 'positive' | 'negative';
  readonly align?: 'trigger' | 'edges' | 'likeness';
  readonly rate?: string;
  readonly tolerance?: string;
  readonly window?: string;
  readonly word?: string;
  readonly clock?: string;
  readonly edge?: 'rising' | 'falling';
  readonly order?: 'least' | 'most';
  /** Of the signal flow. */
  readonly board?: string;
  readonly json?: boolean;
  readonly all?: boolean;
  readonly ascii?: boolean;
  /** False with `--no-color`. */
  readonly color?: boolean;
}

/** One call of one command: what was asked, and where the answer goes. */
export class Call {
  /** What stands first on the command line: a folder, a file, or a machine's name; empty when nothing does. */
  readonly folder: string;
  /** What stands after it. */
  readonly others: readonly string[];
  readonly options: Options;
  readonly terminal: Terminal;
  readonly signal: AbortSignal;
  readonly paint: Paint;
  readonly figures: Figures;
  /** 2 when the answer is that the input is wrong. */
  exitCode: 0 | 2 = 0;

  constructor(
    [folder = '', ...others]: readonly string[],
    options: Options,
    terminal: Terminal,
    signal: AbortSignal,
  ) {
    const unicode = terminal.unicode && !options.ascii;
    this.folder = folder;
    this.others = others;
    this.options = options;
    this.terminal = { ...terminal, unicode };
    this.signal = signal;
    this.paint = paint(terminal.colours && options.color !== false);
    this.figures = figures(unicode);
  }

  /** The answer as one JSON object. */
  json(answer: object): void {
    this.terminal.out(`${JSON.stringify(answer, undefined, 2)}\n`);
  }

  lines(lines: readonly string[]): void {
    this.terminal.out(this.#shown(`${lines.join('\n')}\n`));
  }

  /** A message beside the answer. */
  note(text: string): void {
    this.terminal.err(this.#shown(`${text}\n`));
  }

  /** Sentences in lines that fit, the first after `first`, the others as far in. */
  wrap(text: string, first = '', indent = ' '.repeat(first.length)): string[] {
    return wrapped(text, this.terminal.columns, first, indent);
  }

  /** Says which unit was taken, where the answer itself has no place for it. */
  sayUnit({ unit, taken }: UnitChoice): void {
    if (taken) this.note(`unit ${unit.id}, the only one called faulty`);
  }

  #shown(text: string): string {
    return this.terminal.unicode ? text : text.replace(/[\u2212±×Ωµ°]/g, (sign) => PLAIN[sign]!);
  }

  /** The machine that was named: in a folder, or with `--record` in that record. */
  get place(): MachinePlace {
    const { record } = this.options;
    return record === undefined ? this.folder : { record, machine: this.folder || undefined };
  }

  async machine(): Promise<Machine> {
    const { machine, warnings } = await openFolder(this.place);
    if (warnings > 0) {
      const { record } = this.options;
      const words = [
        ...(this.folder === '' ? [] : [shellWord(this.folder)]),
        ...(record === undefined ? [] : ['--record', shellWord(record)]),
      ];
      const where = record === undefined ? 'folder' : 'machine';
      this.note(
        `${plural(warnings, 'doubtful thing')} in the ${where}: sisterboard check ${words.join(' ')}`,
      );
    }
    return machine;
  }

  /** Runs work that reads a file, with a bar when it takes long. */
  async withFile<T>(work: (file: FileWork) => Promise<T>): Promise<T> {
    const progress = new Progress(this.terminal, 'Reading');
    try {
      return await work({
        signal: this.signal,
        onRead: (done, total) => progress.report(done, total),
      });
    } finally {
      progress.end();
    }
  }

  /** Runs work that needs the fault table, with a bar when it takes long. */
  async withTable<T>(work: (table: TableWork) => Promise<T>): Promise<T> {
    const progress = new Progress(this.terminal, 'Fault table');
    try {
      return await work({
        signal: this.signal,
        onProgress: (done, total) => progress.report(done, total),
        onNote: (text) => this.note(text),
      });
    } finally {
      progress.end();
    }
  }
}

/** Our own signs in plain ASCII; a person's own names are left as they are. */
const PLAIN: Readonly<Record<string, string>> = {
  '\u2212': '-',
  '±': '+-',
  '×': 'x',
  Ω: 'ohm',
  µ: 'u',
  '°': 'deg ',
};

/** A word as a person would type it on a command line. */
export function shellWord(text: string): string {
  return /^[\w./:+=@%-]+$/.test(text) ? text : `"${text}"`;
}
