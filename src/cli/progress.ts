import type { SingleBar } from 'cli-progress';
import type { Terminal } from './terminal.ts';

/** Work shorter than this needs no bar. */
const PATIENCE_MS = 1000;
/** A guess at the time left is none before so much of the work is done. */
const GUESS_FROM = 0.02;

/** A bar on the terminal for work that takes over a second; nothing where nobody watches. */
export class Progress {
  readonly #terminal: Terminal;
  readonly #title: string;
  readonly #began = performance.now();
  #bar: SingleBar | undefined;
  #asked = false;
  #ended = false;

  constructor(terminal: Terminal, title: string) {
    this.#terminal = terminal;
    this.#title = title;
  }

  report(done: number, total: number): void {
    if (this.#ended || this.#terminal.progress === undefined) return;
    const elapsed = performance.now() - this.#began;
    if (this.#bar !== undefined) this.#bar.update(done, { left: timeLeft(elapsed, done / total) });
    else if (elapsed > PATIENCE_MS && !this.#asked) void this.#show(this.#terminal.progress, total);
  }

  /** Takes the bar away. */
  end(): void {
    this.#ended = true;
    this.#bar?.stop();
  }

  async #show(stream: NodeJS.WritableStream, total: number): Promise<void> {
    this.#asked = true;
    const { default: cliProgress } = await import('cli-progress');
    if (this.#ended) return;
    const { unicode } = this.#terminal;
    this.#bar = new cliProgress.SingleBar({
      stream,
      format: `${this.#title}  {bar}  {percentage} %{left}`,
      barCompleteChar: unicode ? '■' : '#',
      barIncompleteChar: unicode ? '·' : '.',
      barsize: 24,
      clearOnComplete: true,
      hideCursor: true,
      gracefulExit: false,
    });
    this.#bar.start(total, 0, { left: '' });
  }
}

/**
 * The time that is left of work of which a share is done: `, 40 s left`, `, 3 min left`; empty while a guess would be none.
 *
 * @param elapsed  milliseconds
 */
export function timeLeft(elapsed: number, share: number): string {
  if (share < GUESS_FROM) return '';
  const seconds = ((elapsed / share) * (1 - share)) / 1000;
  return seconds < 90 ? `, ${Math.ceil(seconds)} s left` : `, ${Math.round(seconds / 60)} min left`;
}
