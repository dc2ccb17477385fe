import { randomBytes } from 'node:crypto';
import { stat } from 'node:fs/promises';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { fileURLToPath } from 'node:url';
import { getRequestListener } from '@hono/node-server';
import { InputError, openRecord } from '../records/index.ts';
import { demoFiles, programMark } from '../workbench/index.ts';
import { application } from './app.ts';
import { WRITES } from './guard.ts';
import { addressOf, leaveNotice, runningServer, takeNoticeAway } from './notice.ts';
import { RecordWorkshop } from './record-workshop.ts';

/** Not one that the usual services take. */
const USUAL_PORT = 4175;
/** Two folders up from every file of the program, built or not. */
const PAGES = fileURLToPath(new URL('../../dist/web/', import.meta.url));

export interface ServeOptions {
  /** The record; made with the demo machine where there is none. */
  readonly record: string;
  /** 0 takes any free one. Without it the usual one, or a free one where that is taken. */
  readonly port?: number | undefined;
}

export interface Serving {
  /** With the key: whoever has it may do everything. */
  readonly address: string;
  /** Another process was serving this record already; nothing was started. */
  readonly already: boolean;
  /** Whether the record was made now. */
  readonly fresh: boolean;
  close(): Promise<void>;
}

/**
 * Serves a record on the loopback interface until `close`.
 *
 * @throws InputError  as `openRecord`; `port-taken` when the port that was asked for is not free
 */
export async function serve({ record: path, port }: ServeOptions): Promise<Serving> {
  const running = await runningServer(path);
  if (running !== undefined) return { address: running, already: true, fresh: false, close: async () => {} };

  const clock = (): Date => new Date();
  const fresh = !(await existing(path));
  const record = await openRecord(path, { clock, create: true });
  const workshop = new RecordWorkshop(record, clock, programMark());
  const close = async (): Promise<void> => {
    await workshop.close();
    await record.close();
  };
  try {
    if (fresh) await record.importFolder(await demoFiles());
    const notice = { port: 0, secret: randomBytes(24).toString('base64url') };
    const app = application(workshop, { secret: notice.secret, port: () => notice.port }, PAGES);
    const server = httpServer(app.fetch);
    notice.port = await listening(server, port);
    await leaveNotice(path, notice);
    return {
      address: addressOf(notice),
      already: false,
      fresh,
      close: async () => {
        await takeNoticeAway(path, notice);
        await ended(server);
        await close();
      },
    };
  } catch (error) {
    await close();
    throw error;
  }
}

async function existing(path: string): Promise<boolean> {
  return (await stat(path).catch(() => undefined)) !== undefined;
}

/** Streams of events never end by themselves. */
async function ended(server: Server): Promise<void> {
  const closed = new Promise((done) => server.close(done));
  server.closeAllConnections();
  await closed;
}

type Fetch = (request: Request) => Response | Promise<Response>;

/** Bytes of a request before its body: how a table of 256 columns is read stands in the address of its capture. */
const LONGEST_HEAD = 64 * 1024;

export function httpServer(fetch: Fetch): Server {
  return createServer({ maxHeaderSize: LONGEST_HEAD }, listener(fetch));
}

/** What is no request for a path of ours does not get as far as the app. */
function listener(fetch: Fetch): ReturnType<typeof getRequestListener> {
  const serves = getRequestListener(fetch, { overrideGlobalObjects: false });
  return async (request, response) => {
    const known = ['GET', 'HEAD', ...WRITES].includes(request.method ?? '');
    if (known && request.url?.startsWith('/')) return serves(request, response);
    response.writeHead(known ? 400 : 405, { connection: 'close' }).end();
  };
}

/** @returns the port */
async function listening(server: Server, wanted: number | undefined): Promise<number> {
  const listen = (port: number): Promise<number> =>
    new Promise((resolve, reject) => {
      server.once('error', reject);
      server.listen(port, '127.0.0.1', () => {
        server.off('error', reject);
        resolve((server.address() as AddressInfo).port);
      });
    });
  try {
    return await listen(wanted ?? USUAL_PORT);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code !== 'EADDRINUSE' && code !== 'EACCES') throw error;
    if (wanted !== undefined)
      throw new InputError('port-taken', `port ${wanted} is not free; name another one`);
    return listen(0);
  }
}
