import { Hono } from 'hono';
import { streamSSE } from 'hono/streaming';
import { newBackup } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

/** Keeps a connection from being taken for dead. */
const BEAT_MS = 15_000;

/** What concerns the record as a whole: what happens in it, and its backup. */
export function recordRoutes(workshop: Workshop) {
  return new Hono()
    .get('/events', (c) =>
      streamSSE(c, async (stream) => {
        let stop = (): void => {};
        let beat: NodeJS.Timeout | undefined;
        await new Promise<void>((ended) => {
          const gone = (): void => ended();
          stop = workshop.onEvent((event) => {
            stream.writeSSE({ data: JSON.stringify(event) }).catch(gone);
          });
          beat = setInterval(() => stream.write(':\n\n').catch(gone), BEAT_MS);
          stream.onAbort(gone);
          // So that the page knows it is connected before anything happens.
          stream.write(':\n\n').catch(gone);
        });
        clearInterval(beat);
        stop();
      }),
    )
    .post('/backup', checked('json', newBackup), async (c) =>
      c.json(await workshop.backup(c.req.valid('json').to)),
    );
}
