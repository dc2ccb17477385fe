import { Hono } from 'hono';
import { z } from 'zod';
import { line, name, ofMachine } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

const MOST_POINTS = 200;
const wavesQuery = z.object({
  state: name,
  /** Names with blanks between them; all that move where there are none. */
  points: z
    .string()
    .max(10_000)
    .transform((text) => text.split(' ').filter((word) => word !== ''))
    .pipe(z.array(line).max(MOST_POINTS))
    .optional(),
  fault: name.optional(),
});

/** What an oscilloscope would show. */
export function waveRoutes(workshop: Workshop) {
  return new Hono().get('/:id/waves', checked('param', ofMachine), checked('query', wavesQuery), async (c) =>
    c.json(await workshop.waves(c.req.valid('param').id, c.req.valid('query'), c.req.raw.signal)),
  );
}
