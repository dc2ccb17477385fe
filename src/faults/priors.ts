/**
 * How often each kind of part fails, against the others, and the share of each way of failing.
 *
 * Shares of modes: MIL-HDBK-338B (1998), failure mode distributions, where a line is marked 338B; the handbook knows
 * no leakage and no loss of gain in transistors, which old germanium is known for: there the published split of shorts
 * and opens is kept for 70 % and the rest is common practice. Rates between kinds: the order in which the trade sees them fail
 * in machines of this age (common practice, no source). MIL-HDBK-217F's rates are those of parts of 1990 and put
 * a transistor at a fifteenth of a resistor; they are not used.
 */
import type { Part } from '../machine/index.ts';

/** Failures of one part against those of one carbon resistor (common practice, no source). */
const RATE = {
  resistor: 1,
  trimmer: 1.5,
  'capacitor, electrolytic': 4,
  capacitor: 0.8,
  inductor: 0.5,
  winding: 0.5,
  diode: 1.6,
  zener: 2,
  transistor: 4,
  lamp: 3,
  fuse: 1.5,
  switch: 2,
  /** A soldered joint or pin of a part. */
  joint: 0.08,
  /** One contact of an edge connector. */
  contact: 0.3,
  /** A board or stage whose inside is not known, for all of its parts together. */
  stage: 20,
} as const;

/** 338B, "resistor, fixed, composition": parameter change 0.66, open 0.31, short 0.03. */
const RESISTOR = { high: 0.66, open: 0.31, short: 0.03 };
/** 338B, "resistor, variable": open 0.53, erratic output 0.40 (taken as the wiper), short 0.07 (taken as drift). */
const TRIMMER = { open: 0.53, 'open-w': 0.4, high: 0.07 };
/** 338B, aluminium electrolytic: short 0.53, open 0.35, electrolyte leak and change of value 0.12. */
const ELECTROLYTIC = { short: 0.4, open: 0.35, leaky: 0.25 };
/** 338B, mean of paper, plastic film, mica and ceramic: short 0.56, open 0.29, change 0.15. */
const CAPACITOR = { short: 0.5, open: 0.29, leaky: 0.21 };
/** 338B, "coil": open 0.42, short 0.42. */
const COIL = { open: 0.5, short: 0.5 };
/** Mean of 338B "diode, general" (short 0.49, open 0.36, change 0.15) and "diode, small signal" (0.18, 0.24, 0.58; memory). */
const DIODE = { short: 0.34, open: 0.3, leaky: 0.36 };
/** 338B "transistor, bipolar" (short 0.73, open 0.27) for 0.70, leakage and gain 0.30 (common practice, no source). */
const TRANSISTOR = {
  'short-ce': 0.2,
  'short-bc': 0.14,
  'short-be': 0.11,
  'open-b': 0.085,
  'open-c': 0.085,
  'open-e': 0.085,
  'leaky-bc': 0.1,
  'leaky-ce': 0.1,
  'low-gain': 0.095,
};
/** 338B, "lamp": no illumination 0.67; a shorted lamp is rare (common practice, no source). */
const LAMP = { open: 0.95, short: 0.05 };
/** 338B, "switch, toggle or push": open 0.65, sticking 0.19, short 0.16. */
const SWITCH = { open: 0.75, short: 0.25 };

/**
 * What only a running state shows, beside the modes above (common practice, no source): a transistor that stores more than its type
 * should, against all transistor failures; an electrolytic that has dried out fails so at least as often as in any other way.
 */
const SLOW = 0.05;
const DRIED = { electrolytic: 0.5, other: 0.06 };

/** Modes that move no level that stands still, with their rates, in failures of one carbon resistor. */
export function runningFailureRates(part: Part): Map<string, number> {
  if (part.kind === 'transistor') return new Map([['slow', RATE.transistor * SLOW]]);
  if (part.kind !== 'capacitor') return new Map();
  const rate =
    (part.value ?? 0) >= 1e-6
      ? RATE['capacitor, electrolytic'] * DRIED.electrolytic
      : RATE.capacitor * DRIED.other;
  return new Map([['low-capacitance', rate]]);
}

/** Failure modes of a part with their rates, in failures of one carbon resistor. Modes are those of the folder's contract. */
export function failureRates(part: Part): Map<string, number> {
  const rates = new Map<string, number>();
  const put = (rate: number, shares: Readonly<Record<string, number>>): void => {
    for (const [mode, share] of Object.entries(shares)) rates.set(mode, rate * share);
  };
  switch (part.kind) {
    case 'resistor':
      put(RATE.resistor, RESISTOR);
      break;
    case 'trimmer':
      put(RATE.trimmer, TRIMMER);
      break;
    case 'capacitor':
      if ((part.value ?? 0) >= 1e-6) put(RATE['capacitor, electrolytic'], ELECTROLYTIC);
      else put(RATE.capacitor, CAPACITOR);
      break;
    case 'inductor':
      put(RATE.inductor, COIL);
      break;
    case 'transformer':
      for (const p of part.pins) {
        if (!p.pin.endsWith('a')) continue;
        const winding = p.pin.slice(0, -1);
        rates.set(`open:${winding}`, RATE.winding * COIL.open);
        rates.set(`short:${winding}`, RATE.winding * COIL.short);
      }
      break;
    case 'diode':
      put(RATE.diode, DIODE);
      break;
    case 'zener':
      put(RATE.zener, DIODE);
      break;
    case 'transistor':
      put(RATE.transistor, TRANSISTOR);
      break;
    case 'lamp':
      put(RATE.lamp, LAMP);
      break;
    case 'fuse':
      put(RATE.fuse, { open: 1 });
      break;
    case 'switch':
      put(RATE.switch, SWITCH);
      break;
    case 'connector':
    case 'other':
      break;
  }
  const joint = part.kind === 'connector' ? RATE.contact : RATE.joint;
  for (const p of part.pins) rates.set(`open-joint:${p.pin}`, joint);
  return rates;
}

/** Rate of an untraced board or stage, in failures of one carbon resistor. */
export const STAGE_RATE = RATE.stage;
