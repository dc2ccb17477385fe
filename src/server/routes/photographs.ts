import { Hono } from 'hono';
import { bodyBytes, MEGABYTE } from '../body.ts';
import { pictureType } from '../picture.ts';
import { Refused } from '../refused.ts';
import {
  newPlacement,
  ofMachine,
  ofPhotograph,
  photographChange,
  photographQuery,
  placementQuery,
} from '../requests.ts';
import type { Workshop } from '../workshop.ts';
import { checked } from './checked.ts';

const MOST_PHOTOGRAPH = 25 * MEGABYTE;

/** Photographs of boards, and the marks placed on them. */
export function photographRoutes(workshop: Workshop) {
  return new Hono()
    .get('/:id/photographs', checked('param', ofMachine), async (c) =>
      c.json(await workshop.photographs(c.req.valid('param').id)),
    )
    .post('/:id/photographs', checked('param', ofMachine), checked('query', photographQuery), async (c) => {
      const bytes = await bodyBytes(c, MOST_PHOTOGRAPH);
      if (pictureType(bytes) === undefined) throw notAPicture();
      const photograph = { ...c.req.valid('query'), bytes };
      return c.json(await workshop.addPhotograph(c.req.valid('param').id, photograph), 201);
    })
    .get('/:id/photographs/:photograph', checked('param', ofPhotograph), async (c) => {
      const { id, photograph } = c.req.valid('param');
      const bytes = await workshop.photographBytes(id, photograph);
      const type = pictureType(bytes);
      if (type === undefined) throw notAPicture();
      return c.body(new Uint8Array(bytes), 200, {
        'content-type': type,
        'content-disposition': `inline; filename="photograph-${photograph}.${type.slice('image/'.length)}"`,
      });
    })
    .patch(
      '/:id/photographs/:photograph',
      checked('param', ofPhotograph),
      checked('json', photographChange),
      async (c) => {
        const { id, photograph } = c.req.valid('param');
        return c.json(await workshop.changePhotograph(id, photograph, c.req.valid('json')));
      },
    )
    .delete('/:id/photographs/:photograph', checked('param', ofPhotograph), async (c) => {
      const { id, photograph } = c.req.valid('param');
      return c.json(await workshop.removePhotograph(id, photograph));
    })
    .get('/:id/placements', checked('param', ofMachine), async (c) =>
      c.json(await workshop.placements(c.req.valid('param').id)),
    )
    .put('/:id/placements', checked('param', ofMachine), checked('json', newPlacement), async (c) =>
      c.json(await workshop.place(c.req.valid('param').id, c.req.valid('json'))),
    )
    .delete('/:id/placements', checked('param', ofMachine), checked('query', placementQuery), async (c) =>
      c.json(await workshop.unplace(c.req.valid('param').id, c.req.valid('query'))),
    );
}

function notAPicture(): Refused {
  return new Refused(415, 'not-a-picture', 'a photograph is a PNG, JPEG or WebP file');
}
