import { type Machine, pointNet } from '../machine/index.ts';

/**
 * From here on a rail is a danger to life for a hand that slips. Source: 60 V is the limit of extra-low DC voltage in dry
 * surroundings (IEC 61140, from memory).
 */
const DANGEROUS_VOLTS = 60;

const WARNS = /\b(caution|danger|dangerous|warning|mains|high[- ]voltage|lethal|live|charged)\b/i;

/**
 * What a person must know before a probe goes to a point: its note when that is a warning, else that its rail is dangerous;
 * empty when neither. That nothing is said of a point does not make it safe.
 */
export function cautionAt(machine: Machine, point: string): string {
  const note = machine.points.find((one) => one.point === point)?.note ?? '';
  if (WARNS.test(note)) return note.replace(/^\s*caution\s*[:,]?\s*/i, '');
  const net = pointNet(machine, point);
  const rail = machine.rails.find((one) => one.net === net);
  return rail !== undefined && Math.abs(rail.volts) >= DANGEROUS_VOLTS
    ? `${Math.abs(rail.volts)} V: only if you are qualified for it; one hand, clip on with the supply off and discharged`
    : '';
}
