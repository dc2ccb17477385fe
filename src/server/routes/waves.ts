import { Hono } from 'hono';
import { z } from 'zod';
import { line, name, ofMachine } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

const MOST_POINTS = 200;
const names = z.array(line).max(MOST_POINTS);
const wavesQuery = z.object({
  state: name,
  /** Names with blanks between them; all that move where there are none. */
  points: z
    .string()
    .max(10_000)
    .refine((text) => names.safeParse(wordsOf(text)).success, {
      message: `at most ${MOST_POINTS} names of points, with blanks between them`,
    })
    .optional(),
  fault: name.optional(),
});

function wordsOf(text: string): string[] {
  return text.split(' ').filter((word) => word !== '');
}

/** What an oscilloscope would show. */
export function waveRoutes(workshop: Workshop) {
  return new Hono().get(
    '/:id/waves',
    checked('param', ofMachine),
    checked('query', wavesQuery),
    async (c) => {
      const { points, ...query } = c.req.valid('query');
      const wish = { ...query, ...(points === undefined ? {} : { points: wordsOf(points) }) };
      return c.json(await workshop.waves(c.req.valid('param').id, wish, c.req.raw.signal));
    },
  );
}
