import type { SingleBar } from 'cli-progress';
import type { Terminal } from './terminal.ts';

/** Work shorter than this needs no bar. */
const PATIENCE_MS = 1000;

/** A bar on the terminal for work that takes over a second; nothing where nobody watches. */
export class Progress {
  readonly #terminal: Terminal;
  readonly #title: string;
  readonly #began = performance.now();
  #bar: SingleBar | undefined;
  #loading: Promise<void> | undefined;
  #ended = false;

  constructor(terminal: Terminal, title: string) {
    this.#terminal = terminal;
    this.#title = title;
  }

  report(done: number, total: number): void {
    if (this.#ended || this.#terminal.progress === undefined) return;
    if (this.#bar !== undefined) this.#bar.update(done);
    else if (performance.now() - this.#began > PATIENCE_MS) this.#loading ??= this.#show(done, total);
  }

  /** Takes the bar away. */
  end(): void {
    this.#ended = true;
    this.#bar?.stop();
  }

  async #show(done: number, total: number): Promise<void> {
    const { default: cliProgress } = await import('cli-progress');
    if (this.#ended) return;
    const { unicode, progress } = this.#terminal;
    this.#bar = new cliProgress.SingleBar({
      stream: progress!,
      format: `${this.#title}  {bar}  {value} of {total}, {eta_formatted} left`,
      barCompleteChar: unicode ? '■' : '#',
      barIncompleteChar: unicode ? '·' : '.',
      barsize: 24,
      clearOnComplete: true,
      hideCursor: true,
      gracefulExit: false,
      etaBuffer: 60,
    });
    this.#bar.start(total, done);
  }
}
