import { Hono } from 'hono';
import {
  benchQuery,
  compareQuery,
  newReading,
  ofMachine,
  ofReading,
  readingsQuery,
  suspectsQuery,
  whatIfQuery,
} from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

/** What a person at the bench asks and tells: levels, readings, suspects. */
export function benchRoutes(workshop: Workshop) {
  return new Hono()
    .get('/:id/bench', checked('param', ofMachine), checked('query', benchQuery), async (c) =>
      c.json(await workshop.bench(c.req.valid('param').id, c.req.valid('query'))),
    )
    .get('/:id/suspects', checked('param', ofMachine), checked('query', suspectsQuery), async (c) => {
      const { unit, state, point, value } = c.req.valid('query');
      const preview =
        state !== undefined && point !== undefined && value !== undefined
          ? { state, point, value }
          : undefined;
      return c.json(await workshop.suspects(c.req.valid('param').id, unit, preview));
    })
    .get('/:id/what-if', checked('param', ofMachine), checked('query', whatIfQuery), async (c) => {
      const { fault, state } = c.req.valid('query');
      return c.json(await workshop.whatIf(c.req.valid('param').id, fault, state));
    })
    .post('/:id/table', checked('param', ofMachine), async (c) =>
      c.json(await workshop.startTable(c.req.valid('param').id)),
    )
    .delete('/:id/table', checked('param', ofMachine), async (c) =>
      c.json(await workshop.stopTable(c.req.valid('param').id)),
    )
    .get('/:id/readings', checked('param', ofMachine), checked('query', readingsQuery), async (c) =>
      c.json(await workshop.readings(c.req.valid('param').id, c.req.valid('query'))),
    )
    .post('/:id/readings', checked('param', ofMachine), checked('json', newReading), async (c) =>
      c.json(await workshop.takeReading(c.req.valid('param').id, c.req.valid('json')), 201),
    )
    .post('/:id/readings/:reading/withdraw', checked('param', ofReading), async (c) => {
      const { id, reading } = c.req.valid('param');
      return c.json(await workshop.withdrawReading(id, reading));
    })
    .get('/:id/compare', checked('param', ofMachine), checked('query', compareQuery), async (c) => {
      const { left, right } = c.req.valid('query');
      return c.json(await workshop.compare(c.req.valid('param').id, left, right));
    });
}
