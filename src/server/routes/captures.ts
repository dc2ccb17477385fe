import { Hono } from 'hono';
import { bodyBytes, bodyPieces, MEGABYTE } from '../body.ts';
import { captureChange, captureQuery, ofCapture, ofChannel, understoodQuery } from '../capture-requests.ts';
import { samplesAnswer } from '../capture-samples.ts';
import { ofMachine } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

const MOST_HEAD = MEGABYTE / 16;
const MOST_CAPTURE = 500 * MEGABYTE;

/** Files of oscilloscopes, sound cards and logic analysers, and what was read of them. */
export function captureRoutes(workshop: Workshop) {
  return new Hono()
    .get('/:id/captures', checked('param', ofMachine), async (c) =>
      c.json(await workshop.captures(c.req.valid('param').id)),
    )
    .post(
      '/:id/captures/understood',
      checked('param', ofMachine),
      checked('query', understoodQuery),
      async (c) => {
        const head = await bodyBytes(c, MOST_HEAD);
        return c.json(await workshop.understoodCapture(c.req.valid('param').id, head, c.req.valid('query')));
      },
    )
    .post('/:id/captures', checked('param', ofMachine), checked('query', captureQuery), async (c) => {
      const total = Number(c.req.header('content-length') ?? 0);
      const { about } = c.req.valid('query');
      const pieces = bodyPieces(c, MOST_CAPTURE);
      return c.json(await workshop.addCapture(c.req.valid('param').id, about, pieces, total), 201);
    })
    .patch(
      '/:id/captures/:capture',
      checked('param', ofCapture),
      checked('json', captureChange),
      async (c) => {
        const { id, capture } = c.req.valid('param');
        return c.json(await workshop.changeCapture(id, capture, c.req.valid('json')));
      },
    )
    .delete('/:id/captures/:capture', checked('param', ofCapture), async (c) => {
      const { id, capture } = c.req.valid('param');
      return c.json(await workshop.removeCapture(id, capture));
    })
    .get('/:id/captures/:capture/samples/:index', checked('param', ofChannel), async (c) => {
      const { id, capture, index } = c.req.valid('param');
      return samplesAnswer(c, await workshop.captureSamples(id, capture, index));
    });
}
