import type { ValidationTargets } from 'hono';
import { validator } from 'hono/validator';
import type { z } from 'zod';
import { Refused } from '../refused.ts';

/** Holds a part of the request against its schema; the handler gets what the schema makes of it. @throws Refused  with the field */
export function checked<Target extends keyof ValidationTargets, Schema extends z.ZodType>(
  target: Target,
  schema: Schema,
) {
  return validator(target, (value: unknown): z.output<Schema> => {
    refusePrototypes(value);
    const parsed = schema.safeParse(value);
    if (parsed.success) return parsed.data;
    const issue = parsed.error.issues[0]!;
    const field = issue.path.map(String).join('.');
    throw new Refused(400, 'bad-request', `${field || target}: ${issue.message}`, field);
  });
}

/** Names that mean something else to the language than to whoever sent them. */
const PROTOTYPES = ['__proto__', 'constructor', 'prototype'];

/** @throws Refused  when one of them is a field, however deep */
export function refusePrototypes(value: unknown): void {
  // A list in place of recursion: a body may be nested deeper than the stack.
  const left = [value];
  while (left.length > 0) {
    const one = left.pop();
    if (typeof one !== 'object' || one === null) continue;
    const found = PROTOTYPES.find((key) => Object.hasOwn(one, key));
    if (found !== undefined) throw new Refused(400, 'bad-request', `no field may be called ${found}`, found);
    left.push(...Object.values(one));
  }
}
