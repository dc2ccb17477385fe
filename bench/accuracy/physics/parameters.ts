/**
 * Everything that makes one true unit differ from another, as a vector of numbers with a Gaussian spread.
 * Positive quantities stand as logarithms, so a unit is drawn, and the exact posterior reckoned, with the
 * same Gaussian. Each number has a part common to all units of the pair (the type runs high, the drawing is
 * off) and a part of each unit.
 */
import type { Machine, Part } from '../../../src/machine/model.ts';

export interface Parameter {
  readonly name: string;
  readonly mean: number;
  /** Standard deviation of the share that all units have in common, and of each unit's own share. */
  readonly shared: number;
  readonly unit: number;
}

/** The parameters of a machine, and which of them add up to each slot of each part. */
export interface ParameterTable {
  readonly parameters: readonly Parameter[];
  /** By part name: for each slot the indices of the parameters that are summed. */
  readonly slots: ReadonlyMap<string, readonly (readonly number[])[]>;
  /** Index of the difference between the temperature inside the unit and the stated ambient, kelvin. */
  readonly temperature: number;
  /** By rail net and by driven net: index of the logarithm of the voltage's scale. */
  readonly rails: ReadonlyMap<string, number>;
  readonly drives: ReadonlyMap<string, number>;
}

/** Slots of a transistor, a diode and a zener, in order; see `parameterTable` for what each spreads by. */
export const TRANSISTOR = {
  hfe: 0,
  vj: 1,
  icbo: 2,
  early: 3,
  knee: 4,
  recombination: 5,
  rb: 6,
  rc: 7,
  re: 8,
  ohmic: 9,
  reverse: 10,
  warmth: 11,
  doubling: 12,
  slope: 13,
} as const;
export const DIODE = {
  vj: 0,
  icbo: 1,
  emission: 2,
  rs: 3,
  ohmic: 4,
  recombination: 5,
  warmth: 6,
  doubling: 7,
  slope: 8,
} as const;
export const ZENER = { vz: 0, knee: 1, rz: 2, vj: 3, slope: 4, warmth: 5 } as const;

/** Test current of zener voltages, A: common practice for small zeners of the period, no source. */
export const ZENER_TEST_CURRENT = 0.005;

/**
 * The table of a machine. Spreads: resistors of 10 % are taken for carbon composition that has drifted high
 * by 4 % in the mean (2 % of it common) with 5 % from unit to unit, tighter ones in proportion; gains three
 * to one over two standard deviations each way; icbo a factor of two; rails 2 %; Early voltages 30 to 120 V.
 * All are common practice or choices of ours, no source.
 */
export function parameterTable(machine: Machine): ParameterTable {
  const parameters: Parameter[] = [];
  const add = (name: string, mean: number, shared: number, unit: number): number =>
    parameters.push({ name, mean, shared, unit }) - 1;
  const temperature = add('inside temperature', 3, 1, 2);
  const ofType = new Map<string, readonly number[]>();
  const slots = new Map<string, readonly (readonly number[])[]>();

  const typeShares = (part: Part): readonly number[] => {
    let shares = ofType.get(part.type);
    if (shares === undefined) {
      const name = `type ${part.type}`;
      const transistor = part.kind === 'transistor';
      shares = [
        transistor ? add(`${name} gain`, 0, 0.12, 0) : -1,
        add(`${name} vj`, 0, 0.006, 0),
        add(`${name} icbo`, 0, 0.35, 0),
      ];
      ofType.set(part.type, shares);
    }
    return shares;
  };

  for (const part of machine.parts) {
    const own = (what: string, mean: number, shared: number, unit: number): number[] => [
      add(`${part.name} ${what}`, mean, shared, unit),
    ];
    const scale = part.tolerance / 10;
    if (part.kind === 'resistor' || part.kind === 'trimmer') {
      const list = [own('ohms', 0.04 * scale, 0.025 * scale, 0.045 * scale)];
      if (part.kind === 'trimmer') {
        const known = part.setting !== undefined;
        list.push(own('setting', 0, known ? 0.01 : 0.08, known ? 0.02 : 0.08));
      }
      slots.set(part.name, list);
    } else if (part.kind === 'capacitor') {
      slots.set(part.name, [own('insulation', 0, 0.3, 0.6)]);
    } else if (part.kind === 'transformer') {
      slots.set(
        part.name,
        (part.windings ?? []).map((_, k) => own(`winding ${k + 1}`, 0, 0.03, 0.03)),
      );
    } else if (part.kind === 'transistor') {
      const [gain, vj, icbo] = typeShares(part);
      slots.set(part.name, [
        [gain!, ...own('gain', 0, 0, 0.25)],
        [vj!, ...own('vj', 0, 0, 0.012)],
        [icbo!, ...own('icbo', 0, 0, 0.6)],
        own('early voltage', Math.log(60), 0.1, 0.33),
        own('knee current', Math.log(30), 0.1, 0.35),
        own('recombination', Math.log(0.15), 0.2, 0.4),
        own('base ohms', 0, 0.2, 0.3),
        own('collector ohms', 0, 0.2, 0.3),
        own('emitter ohms', 0, 0.2, 0.3),
        own('ohmic leakage', Math.log(0.3), 0.2, 0.4),
        own('reverse gain', Math.log(5), 0.2, 0.4),
        own('warmth', 1, 0.5, 1),
        own('leakage doubling', 10, 0.3, 0.5),
        own('vj slope', -0.002, 0.0001, 0.00012),
      ]);
    } else if (part.kind === 'diode') {
      const [, vj, icbo] = typeShares(part);
      slots.set(part.name, [
        [vj!, ...own('vj', 0, 0, 0.014)],
        [icbo!, ...own('icbo', 0, 0, 0.6)],
        own('emission', 0, 0.02, 0.03),
        own('series ohms', 0, 0.2, 0.3),
        own('ohmic leakage', Math.log(0.3), 0.2, 0.4),
        own('recombination', Math.log(0.02), 0.3, 0.4),
        own('warmth', 0.5, 0.5, 0.8),
        own('leakage doubling', 10, 0.3, 0.5),
        own('vj slope', -0.0018, 0.0001, 0.00015),
      ]);
    } else if (part.kind === 'zener') {
      const sd = part.tolerance / 250;
      slots.set(part.name, [
        own('volts', 0, sd / 2, sd),
        own('knee', Math.log((part.value ?? 6) < 5.3 ? 0.07 : 0.025), 0.2, 0.3),
        own('dynamic ohms', 0, 0.15, 0.25),
        own('vj', 0, 0.01, 0.01),
        own('slope', ((part.value ?? 6) - 5) * 0.0006, 0.0002, 0.0003),
        own('warmth', 2, 1, 1),
      ]);
    } else if (part.kind === 'inductor' || part.kind === 'lamp' || part.kind === 'fuse') {
      slots.set(part.name, [own('ohms', 0, 0.08, 0.08)]);
    } else if (part.kind === 'switch') {
      slots.set(part.name, [own('contact', 0, 0.2, 0.5)]);
    }
  }

  const rails = new Map<string, number>();
  for (const rail of machine.rails)
    rails.set(rail.net, add(`rail ${rail.net}`, 0, 0.004, Math.min(0.02, rail.tolerance / 250)));
  const drives = new Map<string, number>();
  for (const condition of machine.conditions)
    for (const drive of condition.drives)
      if (!drives.has(drive.net)) drives.set(drive.net, add(`drive ${drive.net}`, 0, 0.001, 0.004));
  return { parameters, slots, temperature, rails, drives };
}
