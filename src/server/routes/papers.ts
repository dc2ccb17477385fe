import { Hono } from 'hono';
import {
  headChange,
  logQuery,
  newLogEntry,
  ofEntry,
  ofMachine,
  ofSheet,
  repairQuery,
  sheetChange,
} from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

/** What is written down of a machine: its sheets, its head, its log. */
export function paperRoutes(workshop: Workshop) {
  return new Hono()
    .get('/:id/sheets/:sheet', checked('param', ofSheet), async (c) => {
      const { id, sheet } = c.req.valid('param');
      return c.json(await workshop.sheet(id, sheet));
    })
    .patch('/:id/sheets/:sheet', checked('param', ofSheet), checked('json', sheetChange), async (c) => {
      const { id, sheet } = c.req.valid('param');
      const { edits, what } = c.req.valid('json');
      return c.json(await workshop.changeSheet(id, sheet, edits, what));
    })
    .get('/:id/head', checked('param', ofMachine), async (c) =>
      c.json(await workshop.head(c.req.valid('param').id)),
    )
    .patch('/:id/head', checked('param', ofMachine), checked('json', headChange), async (c) => {
      const { version, json, what } = c.req.valid('json');
      return c.json(await workshop.changeHead(c.req.valid('param').id, version, json, what));
    })
    .get('/:id/repair', checked('param', ofMachine), checked('query', repairQuery), async (c) =>
      c.json(await workshop.repair(c.req.valid('param').id, c.req.valid('query'))),
    )
    .get('/:id/log', checked('param', ofMachine), checked('query', logQuery), async (c) =>
      c.json(await workshop.log(c.req.valid('param').id, c.req.valid('query'))),
    )
    .post('/:id/log', checked('param', ofMachine), checked('json', newLogEntry), async (c) =>
      c.json(await workshop.addLogEntry(c.req.valid('param').id, c.req.valid('json')), 201),
    )
    .post('/:id/log/:entry/supersede', checked('param', ofEntry), checked('json', newLogEntry), async (c) => {
      const { id, entry } = c.req.valid('param');
      return c.json(await workshop.supersedeLogEntry(id, entry, c.req.valid('json')), 201);
    });
}
