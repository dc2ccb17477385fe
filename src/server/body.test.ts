import { Hono } from 'hono';
import { describe, expect, it } from 'vitest';
import { bodyPieces } from './body.ts';
import { refusal } from './refusal.ts';

/** Sends pieces of a kilobyte, and says how many were asked for. */
function sender(pieces: number) {
  let given = 0;
  const body = new ReadableStream<Uint8Array>({
    pull(controller) {
      if (given++ === pieces) controller.close();
      else controller.enqueue(new Uint8Array(1024));
    },
  });
  return { body, given: () => given };
}

function answered(body: ReadableStream<Uint8Array>, most: number, enough = Number.POSITIVE_INFINITY) {
  const app = new Hono();
  app.onError(refusal);
  app.post('/', async (c) => {
    let taken = 0;
    for await (const { length } of bodyPieces(c, most)) {
      taken += length;
      if (taken >= enough) break;
    }
    return c.text(String(taken));
  });
  return app.request('/', { method: 'POST', body, duplex: 'half' } as RequestInit);
}

describe('a body in pieces', () => {
  it('is given as it comes', async () => {
    const answer = await answered(sender(5).body, 6000);
    expect([answer.status, await answer.text()]).toEqual([200, '5120']);
  });

  it('without an end is taken no further than it may be long', async () => {
    const { body, given } = sender(Number.POSITIVE_INFINITY);
    expect((await answered(body, 4096)).status).toBe(413);
    expect(given()).toBeLessThan(8);
  });

  it('of which enough was seen is passed over to its end, or as far as it may be long', async () => {
    const short = sender(5);
    expect(await (await answered(short.body, 6000, 1)).text()).toBe('1024');
    expect(short.given()).toBe(6);
    const endless = sender(Number.POSITIVE_INFINITY);
    expect(await (await answered(endless.body, 4096, 1)).text()).toBe('1024');
    expect(endless.given()).toBeLessThan(8);
  });

  it('that is torn off is refused', async () => {
    const body = new ReadableStream<Uint8Array>({
      pull(controller) {
        controller.error(new Error('cable'));
      },
    });
    const answer = await answered(body, 4096);
    expect([answer.status, await answer.json()]).toMatchObject([400, { error: { code: 'cut-off' } }]);
  });
});
