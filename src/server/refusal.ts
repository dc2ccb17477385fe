import type { Context } from 'hono';
import { HTTPException } from 'hono/http-exception';
import type { ContentfulStatusCode } from 'hono/utils/http-status';
import { CaptureRefusal, Conflict, InputError } from '../records/index.ts';
import { withHeaders } from './guard.ts';
import { findingView } from './machine-view.ts';
import { Refused } from './refused.ts';
import type { Refusal } from './views.ts';

/** What the page gets in place of an answer; a fault of ours is shown in the terminal and named to the page. */
export function refusal(error: Error, c: Context): Response {
  const [status, body] = statusAndBody(error);
  if (status === 500) console.error(error);
  return withHeaders(c.json({ error: body }, status));
}

/** What the code of a refusal is as a status; all others are 422. */
const STATUS: Readonly<Record<string, ContentfulStatusCode>> = {
  'no-machine': 404,
  'no-row': 404,
  'no-reading': 404,
  'no-entry': 404,
  'no-photograph': 404,
  'no-capture': 404,
  'no-channel': 404,
  'disk-full': 507,
  'disk-error': 503,
  'read-only': 503,
  'record-busy': 503,
  damaged: 503,
};

function statusAndBody(error: Error): [ContentfulStatusCode, Refusal['error']] {
  if (error instanceof Refused) {
    const { status, code, message, field } = error;
    return [status, { code, message, ...(field === '' ? {} : { field }) }];
  }
  if (error instanceof Conflict) {
    return [409, { code: error.code, message: error.message, now: error.standing ?? null }];
  }
  if (error instanceof CaptureRefusal) {
    const { code, message, findings } = error;
    return [422, { code, message, findings: findings.map((finding) => findingView(finding)) }];
  }
  if (error instanceof InputError) {
    const { code, message } = error;
    return [STATUS[code] ?? 422, { code, message }];
  }
  if (error instanceof HTTPException) return [400, { code: 'bad-request', message: error.message }];
  return [500, { code: 'fault', message: `a fault of Sisterboard: ${error.message}` }];
}
