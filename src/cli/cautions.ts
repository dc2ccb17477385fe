import type { Machine } from '../machine/index.ts';
import { cautionAt } from '../workbench/index.ts';
import type { Call } from './call.ts';

/** What a person must know before touching these points, a caution each; nothing when none carries one. */
export function cautionLines(
  call: Call,
  machine: Machine,
  places: Iterable<{ readonly point: string }>,
): string[] {
  const points = new Set([...places].map(({ point }) => point));
  return [...points].flatMap((point) => cautionAtPoint(call, machine, point, '  '));
}

/** The caution of one point, so far in. */
export function cautionAtPoint(call: Call, machine: Machine, point: string, indent: string): string[] {
  const text = cautionAt(machine, point);
  if (text === '') return [];
  return call
    .wrap(`${point}: ${text}`, `${indent}CAUTION  `)
    .map((line, i) => (i === 0 ? line.replace('CAUTION', call.paint.caution('CAUTION')) : line));
}

/** What goes before every part that is taken out. */
export function ironLines(call: Call): string[] {
  return call.wrap(
    'Before the iron: power off, reservoirs discharged and measured, a second kind of evidence. Mains and high voltage are for qualified people; local rules decide.',
    '  ',
  );
}
