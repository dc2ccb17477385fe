import { readFile, rename, rm, writeFile } from 'node:fs/promises';
import { cookieName } from './guard.ts';

/** Which server has a record open, for whoever starts another one. Only the person who started it can read it. */
export interface Notice {
  readonly port: number;
  readonly secret: string;
}

/** How long one waits for the answer of a server that may be gone. */
const PATIENCE_MS = 1500;

/** Beside the record. A disk that takes no notice does no harm: a second start then serves by itself. */
export async function leaveNotice(record: string, notice: Notice): Promise<void> {
  const file = noticeFile(record);
  const fresh = `${file}.${process.pid}.part`;
  try {
    await writeFile(fresh, JSON.stringify(notice), { mode: 0o600 });
    await rename(fresh, file);
  } catch {
    await rm(fresh, { force: true }).catch(() => {});
  }
}

/** Takes our own notice away, and leaves another server's. */
export async function takeNoticeAway(record: string, { secret }: Notice): Promise<void> {
  if ((await noticeOf(record))?.secret === secret) {
    await rm(noticeFile(record), { force: true }).catch(() => {});
  }
}

/** The address, with its key, of the server that has this record open; `undefined` when none answers. */
export async function runningServer(record: string): Promise<string | undefined> {
  const notice = await noticeOf(record);
  if (notice === undefined) return undefined;
  const { port, secret } = notice;
  const answers = await fetch(`http://127.0.0.1:${port}/api/machines`, {
    headers: { cookie: `${cookieName(port)}=${secret}` },
    signal: AbortSignal.timeout(PATIENCE_MS),
  }).then(
    ({ ok }) => ok,
    () => false,
  );
  return answers ? addressOf(notice) : undefined;
}

export function addressOf({ port, secret }: Notice): string {
  return `http://127.0.0.1:${port}/?key=${secret}`;
}

function noticeFile(record: string): string {
  return `${record}.serving`;
}

async function noticeOf(record: string): Promise<Notice | undefined> {
  try {
    const { port, secret } = JSON.parse(await readFile(noticeFile(record), 'utf8')) as Partial<Notice>;
    const sound =
      Number.isInteger(port) && port! > 0 && port! < 65_536 && /^[\w-]{20,100}$/.test(secret ?? '');
    return sound ? { port: port!, secret: secret! } : undefined;
  } catch {
    return undefined;
  }
}
