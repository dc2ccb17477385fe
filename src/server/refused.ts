import type { ContentfulStatusCode } from 'hono/utils/http-status';

/** A request that the server will not serve, with the status and what the page is told. */
export class Refused extends Error {
  readonly status: ContentfulStatusCode;
  readonly code: string;
  readonly field: string;

  constructor(status: ContentfulStatusCode, code: string, message: string, field = '') {
    super(message);
    this.name = 'Refused';
    this.status = status;
    this.code = code;
    this.field = field;
  }
}
