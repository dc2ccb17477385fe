import { type Machine, pinNamed, pinsByNet, pointNet } from '../machine/index.ts';

/**
 * From here on a rail is a danger to life for a hand that slips. Source: 60 V is the limit of extra-low DC voltage in dry
 * surroundings (IEC 61140, from memory).
 */
const DANGEROUS_VOLTS = 60;

const WARNS = /\b(caution|danger|dangerous|warning|mains|high[- ]voltage|lethal|live|charged)\b/i;

/**
 * What a person must know before a probe goes to a point: the caution that is written of it, or its note when that is a
 * warning, or that its rail is dangerous; and the caution of its board. Empty when there is none. That nothing is said of a point
 * does not make it safe.
 */
export function cautionAt(machine: Machine, point: string): string {
  const board = boardOf(machine, point);
  const ofBoard = machine.boards?.find(({ name }) => name === board)?.caution ?? '';
  return [ofPoint(machine, point), ofBoard].filter((text) => text !== '').join('; ');
}

function ofPoint(machine: Machine, point: string): string {
  const { note = '', caution } = machine.points.find((one) => one.point === point) ?? {};
  if (caution !== undefined) return caution;
  if (WARNS.test(note)) return note.replace(/^\s*caution\s*[:,]?\s*/i, '');
  const net = pointNet(machine, point);
  const rail = machine.rails.find((one) => one.net === net);
  return rail !== undefined && Math.abs(rail.volts) >= DANGEROUS_VOLTS
    ? `${Math.abs(rail.volts)} V: only if you are qualified for it; one hand, clip on with the supply off and discharged`
    : '';
}

/** The board of a pin, or of a net that is on no other; `undefined` for a net between boards. */
function boardOf(machine: Machine, point: string): string | undefined {
  const pin = pinNamed(machine, point);
  if (pin !== undefined) return pin.part.board;
  const boards = new Set((pinsByNet(machine).get(point) ?? []).map(({ part }) => part.board));
  return boards.size === 1 ? [...boards][0] : undefined;
}
