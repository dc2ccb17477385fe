/**
 * One unit as it really is: every part with a value of its own, drawn within its tolerance and aged, every semiconductor
 * with a type of its own. The result is a machine again, so that the program's own solver reads it; it knows more than
 * the description: ohmic resistance in the transistors, emission coefficients above one, parts at different
 * temperatures, rails that follow the mains, the coil that the description leaves without a model.
 */
import type { DeviceType, Machine, Part } from '../src/machine/index.ts';
import type { Chance } from './random.ts';

/** Kelvin above the room inside the closed case, by board, and of the pass transistor on its heat sink. */
const RISE: Readonly<Record<string, number>> = { PWR: 8, CLK: 4, CTR: 4, ADD: 5, LNE: 2 };
const HEAT_SINK_RISE = 18;
/** Ohms of a coil that the description gives no model for. */
const COIL_OHMS = 300;
/** Junction drop falls by this much a kelvin (rule of the trade, no source). */
const DROP_PER_KELVIN = 0.002;

function agedResistance(part: Part, chance: Chance): number {
  const made = part.value! * (1 + (part.tolerance / 100) * 0.45 * chance.normal(2.2));
  // Carbon creeps upwards with moisture; the 5 % kind is film or wire and stays.
  return part.tolerance >= 10 ? made * (1 + 0.03 * Math.abs(chance.normal())) : made;
}

function ownType(type: DeviceType, name: string, rise: number, chance: Chance): DeviceType {
  const own = {
    ...type,
    type: name,
    vj: type.vj + 0.009 * chance.normal() - DROP_PER_KELVIN * rise,
    icbo: chance.scattered(type.icbo, 0.6) * 2 ** (rise / 10),
  };
  if (type.kind !== 'transistor') return { ...own, rs: chance.scattered(type.rs, 0.25) };
  const { hfeMin = 40, hfeTyp = 70, hfeMax = 120 } = type;
  // Gain falls a little in sixty years.
  const gain =
    0.93 * Math.min(hfeMax, Math.max(hfeMin, chance.scattered(hfeTyp, Math.log(hfeMax / hfeMin) / 4)));
  return {
    ...own,
    hfeMin: gain,
    hfeTyp: gain,
    hfeMax: gain,
    n: 1 + 0.06 * chance.uniform(),
    rs: type.rs + 0.5 + 2 * chance.uniform(),
  };
}

/** The unit that `chance` draws from the description `machine`. */
export function drawnUnit(machine: Machine, chance: Chance): Machine {
  const types = new Map<string, DeviceType>();
  const parts = machine.parts.map((part): Part => {
    switch (part.kind) {
      case 'resistor':
        return { ...part, value: agedResistance(part, chance) };
      case 'trimmer':
        return {
          ...part,
          value: chance.scattered(part.value!, 0.05),
          setting: (part.setting ?? 0.5) + 0.03 * chance.normal(2),
        };
      case 'capacitor':
      case 'lamp':
        return { ...part, value: chance.scattered(part.value!, 0.12) };
      case 'transformer':
        return { ...part, windings: part.windings!.map((ohms) => chance.scattered(ohms, 0.04)) };
      case 'diode':
      case 'zener':
      case 'transistor': {
        const rise = (part.name === 'PWR/Q1' ? HEAT_SINK_RISE : RISE[part.board]) ?? 0;
        const type = ownType(machine.types.get(part.type)!, part.name, rise, chance);
        types.set(part.name, type);
        const value =
          part.kind === 'zener'
            ? part.value! * (1 + (part.tolerance / 100) * 0.45 * chance.normal(2.2))
            : part.value;
        return { ...part, type: part.name, value };
      }
      case 'other':
        return { ...part, kind: 'resistor', value: COIL_OHMS };
      default:
        return part;
    }
  });
  // All raw rails come from one mains transformer.
  const mains = 1 + 0.025 * chance.normal(2);
  const rails = machine.rails.map((rail) => ({
    ...rail,
    volts: rail.volts * mains * (1 + 0.01 * chance.normal()),
  }));
  return { ...machine, parts, types, rails };
}

/** Deviation of a transistor's carriers in store from its type's, natural logarithm. */
const STORE_SPREAD = 0.25;

/** `unit` with carriers in store that are each transistor's own. Nothing that stands still is different. */
export function withOwnStorage(unit: Machine, chance: Chance): Machine {
  const types = new Map(
    [...unit.types].map(([name, type]) => [
      name,
      type.ft === undefined ? type : { ...type, ft: chance.scattered(type.ft, STORE_SPREAD) },
    ]),
  );
  return { ...unit, types };
}
