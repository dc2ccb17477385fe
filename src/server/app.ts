import { Hono } from 'hono';
import { limitedBody } from './body.ts';
import { type Guard, guarded } from './guard.ts';
import { page } from './page.ts';
import { refusal } from './refusal.ts';
import { benchRoutes } from './routes/bench.ts';
import { captureRoutes } from './routes/captures.ts';
import { recordRoutes } from './routes/events.ts';
import { flowRoutes } from './routes/flow.ts';
import { machineRoutes } from './routes/machines.ts';
import { paperRoutes } from './routes/papers.ts';
import { photographRoutes } from './routes/photographs.ts';
import { waveRoutes } from './routes/waves.ts';
import type { Workshop } from './workshop.ts';

/** All that is under `/api`. */
function apiRoutes(workshop: Workshop) {
  return new Hono()
    .route('/api/machines', machineRoutes(workshop))
    .route('/api/machines', benchRoutes(workshop))
    .route('/api/machines', paperRoutes(workshop))
    .route('/api/machines', photographRoutes(workshop))
    .route('/api/machines', captureRoutes(workshop))
    .route('/api/machines', flowRoutes(workshop))
    .route('/api/machines', waveRoutes(workshop))
    .route('/api', recordRoutes(workshop));
}

/** For the page's typed client, `hc<Api>`. */
export type Api = ReturnType<typeof apiRoutes>;

/**
 * The whole server without a socket: ask it with `app.request`.
 *
 * @param pages  the folder of the built page
 */
export function application(workshop: Workshop, guard: Guard, pages: string): Hono {
  const app = new Hono();
  app.onError(refusal);
  app.use(guarded(guard));
  app.use(limitedBody);
  app.route('/', apiRoutes(workshop));
  app.get('*', page(pages));
  app.notFound((c) => c.json({ error: { code: 'not-there', message: 'there is nothing here' } }, 404));
  return app;
}
