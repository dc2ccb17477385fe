/**
 * How a setting is brought about, in words, and how one sees that it has come. The bit time and the held carry cannot be set: they
 * are reached from clear by pressing STEP, which is what a person does.
 */
import type { Setting } from './conditions.ts';

const WEIGHTS = [1, 2, 4, 8];

/**
 * How often STEP is pressed from clear with P2 to come. Every press is one pulse, P2 and P1 in turn; P2's end takes the carry
 * over, P1's end takes the bit time on.
 */
export function presses({ bit, phase }: Setting): number {
  return 2 * Math.log2(bit) + (phase === 1 ? 1 : 0);
}

/** The steps, in an order in which none undoes an earlier one. */
export function stepsOf(s: Setting): string {
  const open = WEIGHTS.filter((w) => (s.datum & w) !== 0);
  return [
    // The contact is made now, so that the pulse that it gives is cleared with the rest.
    `STOP down, HOLD open, float contact ${s.line ? 'closed' : 'open'}`,
    open.length === 0
      ? 'datum 0, all switches closed'
      : `datum ${s.datum}, only switches ${listed(open)} open`,
    'press STEP until PH rests at 0 V',
    'press CLEAR',
    s.count > 0 ? `touch TEST with -6 V ${times(s.count)}` : undefined,
    s.hold ? 'close HOLD' : undefined,
    presses(s) > 0 ? `press STEP ${times(presses(s))}` : undefined,
    s.test ? 'clip -6 V on TEST and leave it there' : undefined,
    s.clear ? 'hold CLEAR' : undefined,
    s.step ? `hold STEP: the clock stands at P${s.phase} while you read` : undefined,
  ]
    .filter((step) => step !== undefined)
    .join('; ');
}

/** What a unit that is in the setting shows without a meter, and at the sockets that tell bit time and carry. */
export function signsOf(s: Setting): string {
  const lit = WEIGHTS.filter((w) => (s.count & w) !== 0);
  const pulse = s.step ? `, P${s.phase} at mark` : ', P1 and P2 at space';
  return `lamps: ${lit.length === 0 ? 'none' : listed(lit)}; T${s.bit}${s.held ? ' and HELD' : ''} at mark${s.held ? '' : ', HELD at space'}${pulse}`;
}

function times(count: number): string {
  return count === 1 ? 'once' : count === 2 ? 'twice' : `${count} times`;
}

function listed(items: readonly number[]): string {
  return items.length < 2 ? `${items[0] ?? ''}` : `${items.slice(0, -1).join(', ')} and ${items.at(-1)}`;
}
