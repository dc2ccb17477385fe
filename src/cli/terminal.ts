import picocolors from 'picocolors';

/** Where a command's words go, and what can be shown there. */
export interface Terminal {
  /** Characters in a line. */
  readonly columns: number;
  /** Whether the signs of the level strip can be shown; plain ASCII otherwise. */
  readonly unicode: boolean;
  readonly colours: boolean;
  /** The answer. */
  readonly out: (text: string) => void;
  /** A message to a person. */
  readonly err: (text: string) => void;
  /** Where a progress bar may stand; `undefined` where nobody watches. */
  readonly progress: NodeJS.WritableStream | undefined;
}

/** Colours repeat what shape, place and words say already. */
export interface Paint {
  readonly bold: (text: string) => string;
  readonly quiet: (text: string) => string;
  readonly departs: (text: string) => string;
  readonly act: (text: string) => string;
  readonly caution: (text: string) => string;
}

export function paint(colours: boolean): Paint {
  const c = picocolors.createColors(colours);
  return {
    bold: c.bold,
    quiet: c.dim,
    departs: (text) => c.bold(c.red(text)),
    act: (text) => c.bold(c.blue(text)),
    caution: (text) => c.bold(c.yellow(text)),
  };
}

/** Where nothing says how wide it is: piped, or an unknown terminal. */
const USUAL_COLUMNS = 100;
const FEWEST_COLUMNS = 40;

/** Width of a line: `COLUMNS` where it is set, else the terminal's, else 100; never below 40. */
export function lineWidth(env: NodeJS.ProcessEnv, stream: { readonly columns?: number }): number {
  const stated = Number(env.COLUMNS);
  const width = Number.isInteger(stated) && stated > 0 ? stated : (stream.columns ?? USUAL_COLUMNS);
  return Math.max(FEWEST_COLUMNS, width);
}

/** Whether the locale says UTF-8. Windows has no locale of this kind; its terminals of today show the signs. */
export function showsUnicode(env: NodeJS.ProcessEnv, platform: string): boolean {
  if (platform === 'win32') return env.WT_SESSION !== undefined || env.TERM_PROGRAM !== undefined;
  const locale = env.LC_ALL || env.LC_CTYPE || env.LANG || '';
  return /utf-?8/i.test(locale);
}

/** Colour only on a terminal, and not where somebody has said no. Source: the convention of no-color.org (from memory). */
export function showsColours(env: NodeJS.ProcessEnv, stream: { readonly isTTY?: boolean }): boolean {
  return stream.isTTY === true && !env.NO_COLOR && env.TERM !== 'dumb';
}
