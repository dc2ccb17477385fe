import { usualRecordPath } from '../../records/index.ts';
import { serve } from '../../server/index.ts';
import type { Terminal } from '../terminal.ts';

export interface ServeCall {
  /** The usual place without it. */
  readonly record?: string;
  readonly port?: number;
  /** False with `--no-browser`. */
  readonly browser?: boolean;
}

/** Serves the record until the signal is given up. */
export async function serveRecord(
  { record = usualRecordPath(), port, browser }: ServeCall,
  terminal: Terminal,
  signal: AbortSignal,
): Promise<void> {
  const serving = await serve({ record, port });
  if (serving.fresh) terminal.out(`A new record with the demo machine in it: ${record}\n`);
  terminal.out(
    serving.already
      ? `Sisterboard is running already with this record: ${serving.address}\n`
      : `Sisterboard is ready: ${serving.address}\n`,
  );
  if (browser !== false && hasBrowser(process.env, process.platform)) await show(serving.address);
  if (serving.already) return;
  terminal.out('Ctrl-C ends it; all that was taken is kept.\n');
  await new Promise<void>((done) => {
    if (signal.aborted) done();
    else signal.addEventListener('abort', () => done(), { once: true });
  });
  await serving.close();
  terminal.out('\nEnded.\n');
}

/** Whether there is likely to be a screen that a browser can be opened on. */
export function hasBrowser(env: Readonly<Record<string, string | undefined>>, platform: string): boolean {
  if (env.CI) return false;
  if (platform === 'win32' || platform === 'darwin') return !env.SSH_CONNECTION;
  return Boolean(env.DISPLAY || env.WAYLAND_DISPLAY);
}

/** The address stands in the terminal already, so it does no harm when this fails. */
async function show(address: string): Promise<void> {
  try {
    const { default: open } = await import('open');
    const child = await open(address);
    child.on('error', () => {});
  } catch {
    // Nothing here can open it.
  }
}
