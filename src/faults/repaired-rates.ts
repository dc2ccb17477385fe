/**
 * Rates of failure of a machine's hypotheses with the parts that were changed in its units.
 *
 * What fails is learnt at four levels, each by the gamma-Poisson of `updatedRates`: which kind of part, which type of that kind,
 * which part of that type (a part that its circuit wears out), and in which way the kind fails. At each level the rates
 * beforehand are worth `WORTH` failures, and the sum of the level stays: only shares are learnt, since nobody counts the hours.
 */
import type { Machine, Part } from '../machine/index.ts';
import type { Hypothesis } from './fault.ts';
import { relativeExposure, updatedRates } from './repair-history.ts';

/** Failures that the rates beforehand are worth (common practice, no source). */
const WORTH = 2;
/** From so many farads on a capacitor is an electrolytic, as for the rates themselves. */
const ELECTROLYTIC_FARADS = 1e-6;

export interface RepairedRates {
  /** Of each hypothesis, in failures of one carbon resistor; as given where nothing was changed. */
  readonly rates: Float64Array;
  /** Repairs of parts that have a hypothesis. */
  readonly counted: number;
}

/** What one hypothesis, or one repair, is of. */
interface Place {
  readonly kind: string;
  readonly type: string;
  readonly part: string;
  /** Empty when nobody has said how the part had failed. */
  readonly way: string;
}

/**
 * The rates of the hypotheses after the machine's repairs.
 *
 * @param hypotheses  every mode of every part, as `faultHypotheses` gives them
 */
export function repairedRates(
  { parts, repairs = [] }: Pick<Machine, 'parts' | 'repairs'>,
  hypotheses: readonly Pick<Hypothesis, 'part' | 'mode' | 'rate'>[],
): RepairedRates {
  const rates = Float64Array.from(hypotheses, ({ rate }) => rate);
  if (repairs.length === 0) return { rates, counted: 0 };
  const named = new Map(parts.map((part) => [part.name, part]));
  const places = hypotheses.map(({ part, mode }) => placeOf(named.get(part)!, mode));
  const known = new Set(hypotheses.map(({ part }) => part));
  const changed = repairs.flatMap(({ part, mode }) => {
    const found = known.has(part) ? named.get(part) : undefined;
    return found === undefined ? [] : [placeOf(found, mode)];
  });
  const levels: readonly [within: (place: Place) => string, key: (place: Place) => string][] = [
    [() => '', ({ kind }) => kind],
    [({ kind }) => kind, ({ type }) => type],
    [({ kind, type }) => `${kind}\n${type}`, ({ part }) => part],
    [({ kind }) => kind, ({ way }) => way],
  ];
  for (const [within, key] of levels) {
    const factors = levelFactors(
      places.map((place, i) => ({ group: within(place), key: key(place), rate: hypotheses[i]!.rate })),
      changed.map((place) => ({ group: within(place), key: key(place) })).filter((one) => one.key !== ''),
    );
    places.forEach((place, i) => {
      rates[i]! *= factors.get(within(place))?.get(key(place)) ?? 1;
    });
  }
  return { rates, counted: changed.length };
}

function placeOf({ kind, type, name, value }: Part, mode: string): Place {
  const way = mode.split(':')[0]!;
  if (way === 'open-joint') {
    return { kind: kind === 'connector' ? 'contact' : 'joint', type: '', part: name, way };
  }
  const electrolytic = kind === 'capacitor' && (value ?? 0) >= ELECTROLYTIC_FARADS;
  return { kind: electrolytic ? 'electrolytic' : kind, type, part: name, way };
}

/** By group and key what the rates of a level are multiplied by; groups in which nothing was changed are left out. */
function levelFactors(
  priors: readonly { readonly group: string; readonly key: string; readonly rate: number }[],
  changed: readonly { readonly group: string; readonly key: string }[],
): Map<string, Map<string, number>> {
  const found = new Map<string, Map<string, number>>();
  for (const group of new Set(changed.map((one) => one.group))) {
    const rates = new Map<string, number>();
    for (const one of priors)
      if (one.group === group) rates.set(one.key, (rates.get(one.key) ?? 0) + one.rate);
    const repairs = new Map<string, number>();
    for (const one of changed)
      if (one.group === group && rates.has(one.key)) repairs.set(one.key, (repairs.get(one.key) ?? 0) + 1);
    const one = new Map([...rates.keys()].map((key) => [key, 1]));
    const updated = updatedRates(rates, repairs, relativeExposure(rates, repairs, one), WORTH);
    const sum = (values: Iterable<number>): number => [...values].reduce((a, b) => a + b, 0);
    const scale = sum(rates.values()) / sum(updated.values());
    found.set(group, new Map([...updated].map(([key, rate]) => [key, (scale * rate) / rates.get(key)!])));
  }
  return found;
}
