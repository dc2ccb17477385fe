import { Hono } from 'hono';
import { z } from 'zod';
import { name, ofMachine } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

const flowQuery = z.object({ unit: name.optional(), point: name.optional() });

/** What drives what, the loops, and which stage has good inputs and a bad output. */
export function flowRoutes(workshop: Workshop) {
  return new Hono().get('/:id/flow', checked('param', ofMachine), checked('query', flowQuery), async (c) =>
    c.json(await workshop.flow(c.req.valid('param').id, c.req.valid('query'))),
  );
}
