import { Hono } from 'hono';
import { zipFiles, zipOf } from '../archive.ts';
import { bodyBytes, MEGABYTE } from '../body.ts';
import { changesQuery, newMachine, ofMachine } from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

/** What an exported folder with its photographs may come to. */
const MOST_IMPORTED = 100 * MEGABYTE;

/** Machines as wholes: listed, made, brought in, given out, taken away. */
export function machineRoutes(workshop: Workshop) {
  return new Hono()
    .get('/', async (c) => c.json(await workshop.machines()))
    .post('/', checked('json', newMachine), async (c) =>
      c.json(await workshop.createMachine(c.req.valid('json')), 201),
    )
    .post('/import', async (c) => {
      const files = zipFiles(await bodyBytes(c, MOST_IMPORTED));
      return c.json(await workshop.importMachine(files), 201);
    })
    .get('/removed', async (c) => c.json(await workshop.removedMachines()))
    .get('/:id', checked('param', ofMachine), async (c) =>
      c.json(await workshop.machine(c.req.valid('param').id)),
    )
    .delete('/:id', checked('param', ofMachine), async (c) =>
      c.json(await workshop.removeMachine(c.req.valid('param').id)),
    )
    .get('/:id/export.zip', checked('param', ofMachine), async (c) => {
      const { name, files } = await workshop.exportMachine(c.req.valid('param').id);
      return c.body(await zipOf(files), 200, {
        'content-type': 'application/zip',
        'content-disposition': `attachment; filename="${fileName(name)}.zip"`,
      });
    })
    .get('/:id/changes', checked('param', ofMachine), checked('query', changesQuery), async (c) =>
      c.json(await workshop.changes(c.req.valid('param').id, c.req.valid('query').limit)),
    )
    .post('/:id/undo', checked('param', ofMachine), async (c) =>
      c.json(await workshop.undo(c.req.valid('param').id)),
    );
}

/** A name that every file system and a header line can hold. */
function fileName(name: string): string {
  const plain = name.normalize('NFKD').replaceAll(/[^\w.-]+/g, '-');
  return plain.replaceAll(/^[-.]+|[-.]+$/g, '').slice(0, 80) || 'machine';
}
