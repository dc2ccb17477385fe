import type { DriveWave } from './wave/drive-wave.ts';
import type { CapturedWave } from './wave/wave-text.ts';

/**
 * The description of a machine as plain values: what it is made of, the states it can be put in, where a
 * probe can go, and what has been read. Everything else in the program starts from these types.
 *
 * Volts, ohms, farads, henries, seconds, amperes, degrees Celsius. Tolerances in percent.
 */

export const PART_KINDS = [
  'resistor',
  'trimmer',
  'capacitor',
  'inductor',
  'transformer',
  'diode',
  'zener',
  'transistor',
  'lamp',
  'fuse',
  'switch',
  'connector',
  'other',
] as const;
export type PartKind = (typeof PART_KINDS)[number];

/** One pin of a part and the net it is soldered to. */
export interface Pin {
  readonly pin: string;
  readonly net: string;
}

export interface Part {
  readonly board: string;
  readonly ref: string;
  /** `BOARD/REF`, unique in the machine. */
  readonly name: string;
  readonly kind: PartKind;
  /** Type number; empty for kinds that have none. */
  readonly type: string;
  /**
   * Ohms, farads, henries, zener volts, lamp hot ohms or fuse amperes. `undefined` where the kind has no
   * value or it is not known. A transformer has `windings` instead, a switch has `closed`.
   */
  readonly value?: number;
  /** Ohms of each winding of a transformer, in the order of its pins. */
  readonly windings?: readonly number[];
  /** Position of a switch. */
  readonly closed?: boolean;
  /** Percent; the default of the kind where the folder gives none. */
  readonly tolerance: number;
  /** Trimmer: share of the track between 1 and w, 0 to 1; `undefined` is unknown. */
  readonly setting?: number;
  readonly pins: readonly Pin[];
  readonly note: string;
}

export type Polarity = 'pnp' | 'npn';
export type Material = 'ge' | 'si';

/** A type number's electrical facts: a row of types.csv or of the built-in table. */
export interface DeviceType {
  readonly type: string;
  readonly kind: 'transistor' | 'diode' | 'zener';
  readonly polarity?: Polarity;
  readonly material: Material;
  /** Forward drop in volts at `ij` amperes, 25 °C. */
  readonly vj: number;
  readonly ij: number;
  readonly hfeMin?: number;
  readonly hfeTyp?: number;
  readonly hfeMax?: number;
  /** Reverse leakage in amperes, 25 °C: collector-base, or anode-cathode of a diode. */
  readonly icbo: number;
  /** Series resistance, ohms; 0 when not stated. */
  readonly rs: number;
  /** Emission coefficient. */
  readonly n: number;
  readonly vceo?: number;
  readonly vcbo?: number;
  readonly vebo?: number;
  readonly ic?: number;
  readonly pd?: number;
  readonly ft?: number;
  readonly source: string;
}

export interface Rail {
  readonly net: string;
  readonly volts: number;
  /** Percent. */
  readonly tolerance: number;
}

export type Health = 'healthy' | 'faulty' | 'unknown';
export interface Unit {
  readonly id: string;
  readonly health: Health;
}

export interface Instrument {
  readonly id: string;
  /** Input resistance. */
  readonly ohms: number;
  /** Gain error, percent, common to all readings of one unit taken with it on one day (standard deviation). */
  readonly gain: number;
  /** Random error, percent of reading (standard deviation). */
  readonly random: number;
  /** Random error, absolute (standard deviation). */
  readonly volts: number;
}

/** A net that is fed in a condition: `volts` through `ohms`, 0 for a stiff source. */
export interface Drive {
  readonly net: string;
  /** Where it moves: what it rests at before time 0. */
  readonly volts: number;
  readonly ohms: number;
  /** How it moves; left out where it stands still. */
  readonly wave?: DriveWave | CapturedWave;
}
/**
 * A net that is expected near `volts`: chooses between the stable states of a bistable circuit. In a running condition the
 * net is held there before time 0 and let go then.
 */
export interface Hint {
  readonly net: string;
  readonly volts: number;
}
export interface Condition {
  readonly name: string;
  readonly drives: readonly Drive[];
  readonly hints: readonly Hint[];
  /** Seconds that are looked at in a running condition; left out: what its drives make of it. */
  readonly watch?: { readonly from: number; readonly to: number };
  /** How a unit is brought into it, in words; left out when nobody has written it down. */
  readonly steps?: string;
  /** What was noted beside the steps. */
  readonly note?: string;
}

export interface Point {
  /** A net name, or a pin `BOARD/REF.pin`. */
  readonly point: string;
  /** Minutes that a reading there costs. */
  readonly minutes: number;
  readonly note: string;
  /** What a person must know before a probe goes there; left out when there is nothing. */
  readonly caution?: string;
}

/** What is said of a board as a whole. */
export interface Board {
  readonly name: string;
  /** What a person must know before touching it; empty when there is nothing. */
  readonly caution: string;
  readonly note: string;
}

export interface Reading {
  readonly unit: string;
  readonly condition: string;
  readonly point: string;
  readonly quantity: string;
  readonly value: number;
  /** Standard uncertainty in the unit of the value; `undefined` when the folder gives none. */
  readonly uncertainty?: number;
  /** ISO 8601, or empty. */
  readonly takenAt: string;
  /** Room temperature at the reading, °C; `undefined` means the machine's. */
  readonly ambient?: number;
  /** Empty when no instrument is named. */
  readonly instrument: string;
  readonly note: string;
}

/** A part that was changed, as the log has it: an entry of kind `replaced` that no later one supersedes. */
export interface Repair {
  readonly unit: string;
  /** ISO 8601, or empty. */
  readonly date: string;
  /** `BOARD/REF`, as it was written. */
  readonly part: string;
  /** How it had failed; empty when nobody has said. */
  readonly mode: string;
}

/** What a person knows of the signal flow of a board that is not traced. */
export interface FlowStage {
  readonly board: string;
  readonly stage: string;
  readonly inputs: readonly string[];
  readonly outputs: readonly string[];
  readonly breaks: string;
  readonly note: string;
}

export interface Machine {
  readonly name: string;
  readonly summary: string;
  /** The net every voltage is measured against. */
  readonly reference: string;
  /** °C, where a reading does not say otherwise. */
  readonly ambient: number;
  readonly rails: readonly Rail[];
  readonly units: readonly Unit[];
  readonly instruments: readonly Instrument[];
  readonly parts: readonly Part[];
  /** By type number: the built-in table with the folder's own rows laid over it. */
  readonly types: ReadonlyMap<string, DeviceType>;
  readonly conditions: readonly Condition[];
  /** Where a probe can go: those of points.csv, or the default of the format when there is no such file. */
  readonly points: readonly Point[];
  readonly readings: readonly Reading[];
  readonly flow: readonly FlowStage[];
  /** Boards of which something is said; `boardsOf` names all. */
  readonly boards?: readonly Board[];
  /** Parts changed in any of the units; left out when there are none. */
  readonly repairs?: readonly Repair[];
}
