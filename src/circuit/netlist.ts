/**
 * A machine's wiring as lists of elements in flat arrays, and the parameters whose spread makes two sound units differ.
 *
 * Built once for a machine. Element values are those of nominal parts at 25 °C; `operating-point.ts` moves
 * them with temperature, with the parameters' deviations and with a fault's edit.
 */
import type { DeviceType, Machine, Part } from '../machine/index.ts';
import { contactsOf } from './contacts.ts';
import { type Junction, ZENER_AMPERES } from './devices/junction.ts';
import type { LampCurve } from './devices/lamp.ts';
import { leakageRatio, STATED_CELSIUS, saturationRatio, thermalVoltage } from './devices/temperature.ts';
import { feedVolts } from './feed.ts';

/** What a parameter moves. `celsius` and `volts` deviate by addition, the others by the factor exp(deviation). */
export type ParameterKind =
  | 'ohms'
  | 'setting'
  | 'saturation'
  | 'gain'
  | 'leakage'
  | 'zener'
  | 'rail'
  | 'drive'
  | 'celsius';

/**
 * One quantity in which sound units differ. Its deviation is counted in units of `spread`, so that every deviation has
 * unit prior variance.
 */
export interface Parameter {
  readonly kind: ParameterKind;
  /** `BOARD/REF`, or the net of a rail or a drive, or empty for the temperature. */
  readonly owner: string;
  /** Index into the element list of the kind: conductance, junction, transistor, rail, drive level. */
  readonly element: number;
  /** Standard deviation: relative (natural logarithm), or volts, °C, share of the track. */
  readonly spread: number;
  /** Share of the variance that is common to all units: the drawing or the batch is off in the same way. */
  readonly common: number;
}

export interface Conductance {
  readonly part: string;
  readonly a: number;
  readonly b: number;
  readonly siemens: number;
  readonly lamp?: LampCurve;
}
export interface JunctionElement {
  readonly part: string;
  readonly a: number;
  readonly k: number;
  readonly type: DeviceType;
  readonly is: number;
  readonly nvt: number;
  readonly rs: number;
  readonly leak: number;
  readonly vz: number;
}
export interface TransistorElement {
  readonly part: string;
  /** Net indices of base, collector, emitter. With a series resistance the collector is an inner net. */
  readonly terminals: readonly [number, number, number];
  readonly type: DeviceType;
  readonly sign: number;
  readonly is: number;
  readonly nvt: number;
  readonly bf: number;
  readonly br: number;
  readonly leak: number;
}

export interface Netlist {
  readonly machine: Machine;
  /** Net names; inner nets of parts come last and are named `BOARD/REF:c`. */
  readonly nets: readonly string[];
  readonly netIndex: ReadonlyMap<string, number>;
  readonly reference: number;
  readonly conductances: readonly Conductance[];
  readonly junctions: readonly JunctionElement[];
  readonly transistors: readonly TransistorElement[];
  readonly parameters: readonly Parameter[];
  /** Levels that the machine's conditions drive nets at. */
  readonly levels: readonly DriveLevel[];
  readonly parts: ReadonlyMap<string, Part>;
  /** Elements of a part, by full name. */
  readonly elementsOf: ReadonlyMap<string, PartElements>;
  /** Net of each pin, `BOARD/REF.pin`: on its own side of the contacts that part a net. */
  readonly pinNets: ReadonlyMap<string, number>;
  /** The conductance that vanishes when this pin, `BOARD/REF.pin`, of a connector or a part without a model has no contact. */
  readonly contactOf: ReadonlyMap<string, number>;
  /** For each net the one that the folder names: itself but for the sides of contacts. */
  readonly namedNet: Int32Array;
}
/** A net driven at some volts other than 0, in one condition or several: one setting of whatever drives it. */
export interface DriveLevel {
  readonly net: number;
  readonly volts: number;
}
export interface PartElements {
  readonly conductances: readonly number[];
  readonly junction: number;
  readonly transistor: number;
}

/** Siemens of a closed contact, an open one, and the most a value of zero ohms may stand for. */
const CONTACT_SIEMENS = 1 / 0.02;
const OPEN_SIEMENS = 1e-12;
const MAX_SIEMENS = 1 / 1e-3;

/** Common practice, no source: values of what a parts list does not state. */
const INDUCTOR_OHMS = 5;
const WINDING_OHMS = 10;
const LAMP_OHMS = 200;
const LAMP_COLD = 10;
/** Ways for current where rails are sought: a transistor that is on, a junction. */
const TRANSISTOR_WAY_OHMS = 1;
const JUNCTION_WAY_OHMS = 100;
const CAPACITOR_SECONDS = 100;
const CAPACITOR_OHMS = 1e10;

/**
 * Standard deviation of what a person sets a bench supply to, or another board puts out, against what is stated: share of the
 * volts, and volts. A net that is grounded is at 0 V. Common practice, no source.
 */
const DRIVE_SHARE = 0.01;
const DRIVE_VOLTS = 0.02;

/** Deviation of a uniform spread of ± `percent` as a standard deviation; old parts stray beyond their band, so not the full 1/√3. */
function toleranceSpread(percent: number): number {
  return Math.max(1e-4, (percent / 100) * 0.6);
}

function clampSiemens(ohms: number): number {
  return 1 / Math.max(ohms, 1 / MAX_SIEMENS);
}

/** Emission voltage at 25 °C and saturation current of a type, from its stated drop. */
function statedSaturation(type: DeviceType): { is: number; nvt: number } {
  const nvt = type.n * thermalVoltage(STATED_CELSIUS);
  const rs = type.kind === 'transistor' ? 0 : type.rs;
  const drop = Math.max(0.02, type.vj - rs * type.ij);
  return { is: type.ij / Math.expm1(Math.min(drop / nvt, 200)), nvt };
}

/** A junction's values at `celsius`. */
export function junctionAt(j: JunctionElement, celsius: number): Junction {
  return {
    is: j.is * saturationRatio(j.type.material, j.type.n, celsius),
    nvt: (j.nvt * thermalVoltage(celsius)) / thermalVoltage(STATED_CELSIUS),
    rs: j.rs,
    leak: j.leak * leakageRatio(celsius),
    vz: j.vz,
  };
}

/** Typical gain of a type and the standard deviation of its logarithm: the stated limits are taken as ±2 deviations. */
function statedGain(type: DeviceType): { bf: number; spread: number } {
  const { hfeMin: lo, hfeTyp: typ, hfeMax: hi } = type;
  const middle = typ ?? (lo && hi ? Math.sqrt(lo * hi) : lo ? lo * 1.7 : hi ? hi / 1.7 : 60);
  let spread = 0.3;
  if (lo && hi && hi > lo) spread = Math.max(0.15, Math.log(hi / lo) / 4);
  else if (lo && middle > lo) spread = Math.max(0.2, Math.log(middle / lo) / 2);
  return { bf: middle, spread: Math.min(spread, 0.6) };
}

/** Reverse gain: alloy germanium is nearly symmetrical, planar silicon is not. Common practice, no source. */
function reverseGain(type: DeviceType): number {
  return type.material === 'ge' ? 8 : 3;
}

/** The elements and parameters of a machine. Parts of kind `other` and connectors leave their nets without an element. */
export function netlistOf(machine: Machine): Netlist {
  const nets: string[] = [];
  const netIndex = new Map<string, number>();
  const net = (name: string): number => {
    let i = netIndex.get(name);
    if (i === undefined) {
      i = nets.length;
      nets.push(name);
      netIndex.set(name, i);
    }
    return i;
  };
  const reference = net(machine.reference);
  for (const rail of machine.rails) net(rail.net);

  const conductances: Conductance[] = [];
  const junctions: JunctionElement[] = [];
  const transistors: TransistorElement[] = [];
  const parameters: Parameter[] = [];
  const elementsOf = new Map<string, PartElements>();
  const parts = new Map<string, Part>();

  for (const part of machine.parts) for (const p of part.pins) net(p.net);
  const { sides, contacts } = contactsOf(machine);
  const pinNets = new Map<string, number>();
  const named = new Map<number, number>();
  for (const part of machine.parts)
    for (const p of part.pins) {
      const name = `${part.name}.${p.pin}`;
      const side = net(sides.get(name) ?? p.net);
      pinNets.set(name, side);
      named.set(side, net(p.net));
    }
  for (const c of machine.conditions) {
    for (const d of c.drives) net(d.net);
    for (const h of c.hints) net(h.net);
  }

  for (const part of machine.parts) {
    parts.set(part.name, part);
    const own: { conductances: number[]; junction: number; transistor: number } = {
      conductances: [],
      junction: -1,
      transistor: -1,
    };
    elementsOf.set(part.name, own);
    const at = (pin: string): number => {
      return pinNets.get(`${part.name}.${pin}`) ?? -1;
    };
    const conduct = (
      a: number,
      b: number,
      siemens: number,
      spread: number,
      common: number,
      lamp?: Conductance['lamp'],
    ): void => {
      if (a < 0 || b < 0) return;
      own.conductances.push(conductances.length);
      if (spread > 0 && a !== b)
        parameters.push({ kind: 'ohms', owner: part.name, element: conductances.length, spread, common });
      conductances.push(lamp ? { part: part.name, a, b, siemens, lamp } : { part: part.name, a, b, siemens });
    };
    const spread = toleranceSpread(part.tolerance);
    switch (part.kind) {
      case 'resistor':
        conduct(at('1'), at('2'), clampSiemens(part.value ?? 1e4), spread, 0.2);
        break;
      case 'trimmer': {
        const ohms = part.value ?? 1e4;
        const share = Math.min(0.999, Math.max(0.001, part.setting ?? 0.5));
        const first = conductances.length;
        conduct(at('1'), at('w'), clampSiemens(ohms * share), 0, 0);
        conduct(at('w'), at('2'), clampSiemens(ohms * (1 - share)), 0, 0);
        if (conductances.length === first + 2)
          parameters.push({
            kind: 'setting',
            owner: part.name,
            element: first,
            spread: part.setting === undefined ? 0.25 : 0.04,
            common: 0.1,
          });
        break;
      }
      case 'capacitor': {
        const farads = part.value ?? 1e-9;
        const ohms = farads >= 1e-6 ? Math.min(CAPACITOR_OHMS, CAPACITOR_SECONDS / farads) : CAPACITOR_OHMS;
        conduct(at('1'), at('2'), 1 / ohms, farads >= 1e-6 ? 1 : 0, 0.2);
        break;
      }
      case 'inductor':
        conduct(at('1'), at('2'), 1 / INDUCTOR_OHMS, 1, 0.7);
        break;
      case 'transformer': {
        const windings = part.pins.filter((p) => p.pin.endsWith('a'));
        windings.forEach((p, i) => {
          const b = at(`${p.pin.slice(0, -1)}b`);
          conduct(at(p.pin), b, clampSiemens(part.windings?.[i] ?? WINDING_OHMS), spread, 0.5);
        });
        break;
      }
      case 'lamp':
        conduct(at('1'), at('2'), clampSiemens(part.value ?? LAMP_OHMS), spread, 0.3, {
          cold: LAMP_COLD,
          rated: Number.NaN,
        });
        break;
      case 'fuse':
        conduct(
          at('1'),
          at('2'),
          clampSiemens(Math.min(10, 0.15 / Math.max(part.value ?? 1, 0.01))),
          0.5,
          0.5,
        );
        break;
      case 'switch':
        conduct(at('1'), at('2'), part.closed === false ? OPEN_SIEMENS : CONTACT_SIEMENS, 0, 0);
        break;
      case 'diode':
      case 'zener': {
        const type =
          machine.types.get(part.type) ?? (part.kind === 'zener' ? FALLBACK_ZENER : FALLBACK_DIODE);
        const { is, nvt } = statedSaturation(type);
        const element = junctions.length;
        own.junction = element;
        junctions.push({
          part: part.name,
          a: at('a'),
          k: at('k'),
          type,
          is,
          nvt,
          rs: part.kind === 'zener' ? Math.max(type.rs, 1) : type.rs,
          leak: Math.max(0, type.icbo - is),
          vz: part.kind === 'zener' ? (part.value ?? 6) : Infinity,
        });
        parameters.push({ kind: 'saturation', owner: part.name, element, spread: 0.5, common: 0.4 });
        if (type.icbo > 1e-8)
          parameters.push({ kind: 'leakage', owner: part.name, element, spread: 1, common: 0.2 });
        if (part.kind === 'zener')
          parameters.push({
            kind: 'zener',
            owner: part.name,
            element,
            spread: toleranceSpread(part.tolerance) * (part.value ?? 6),
            common: 0.2,
          });
        break;
      }
      case 'transistor': {
        const type = machine.types.get(part.type) ?? FALLBACK_TRANSISTOR;
        const { is, nvt } = statedSaturation(type);
        const gain = statedGain(type);
        const br = reverseGain(type);
        const element = transistors.length;
        own.transistor = element;
        let collector = at('c');
        if (type.rs > 0) {
          const inner = net(`${part.name}:c`);
          conduct(collector, inner, clampSiemens(type.rs), 0, 0);
          collector = inner;
        }
        transistors.push({
          part: part.name,
          terminals: [at('b'), collector, at('e')],
          type,
          sign: type.polarity === 'npn' ? 1 : -1,
          is,
          nvt,
          bf: gain.bf,
          br,
          leak: Math.max(0, type.icbo - is * (1 / br + 1 / (1 + gain.bf))),
        });
        parameters.push({ kind: 'saturation', owner: part.name, element, spread: 0.5, common: 0.4 });
        parameters.push({ kind: 'gain', owner: part.name, element, spread: gain.spread, common: 0.2 });
        parameters.push({ kind: 'leakage', owner: part.name, element, spread: 1, common: 0.2 });
        break;
      }
      case 'connector':
      case 'other':
        break;
    }
  }
  const contactOf = new Map<string, number>();
  for (const { part, pins, a, b } of contacts) {
    for (const pin of pins) contactOf.set(pin, conductances.length);
    conductances.push({ part, a: net(a), b: net(b), siemens: CONTACT_SIEMENS });
  }
  rateLamps(machine, reference, netIndex, conductances, junctions, transistors);
  const levels: DriveLevel[] = [];
  for (const c of machine.conditions)
    for (const { net: name, volts } of c.drives) {
      const driven = net(name);
      if (volts === 0 || levels.some((l) => l.net === driven && l.volts === volts)) continue;
      parameters.push({
        kind: 'drive',
        owner: name,
        element: levels.length,
        spread: Math.hypot(DRIVE_SHARE * volts, DRIVE_VOLTS),
        common: 0.1,
      });
      levels.push({ net: driven, volts });
    }
  machine.rails.forEach((rail, element) => {
    if (rail.tolerance > 0)
      parameters.push({
        kind: 'rail',
        owner: rail.net,
        element,
        spread: Math.abs(rail.volts) * toleranceSpread(rail.tolerance),
        common: 0.1,
      });
  });
  parameters.push({ kind: 'celsius', owner: '', element: 0, spread: 3, common: 0.2 });
  return {
    machine,
    nets,
    netIndex,
    reference,
    conductances,
    junctions,
    transistors,
    parameters,
    levels,
    parts,
    elementsOf,
    pinNets,
    contactOf,
    namedNet: Int32Array.from(nets, (_, i) => named.get(i) ?? i),
  };
}

/**
 * Rates each lamp at the voltage between the rails that feed its two ends, or at the highest rail where they tell nothing.
 * A transistor counts as the way through it when it is on.
 */
function rateLamps(
  machine: Machine,
  reference: number,
  netIndex: ReadonlyMap<string, number>,
  conductances: Conductance[],
  junctions: readonly JunctionElement[],
  transistors: readonly TransistorElement[],
): void {
  if (!conductances.some((c) => c.lamp)) return;
  const highest = machine.rails.reduce((most, r) => Math.max(most, Math.abs(r.volts)), 1);
  const volts = feedVolts(
    netIndex.size,
    [
      ...machine.rails.map((r) => ({ net: netIndex.get(r.net)!, volts: r.volts })),
      { net: reference, volts: 0 },
    ],
    [
      ...conductances.filter((c) => !c.lamp).map(({ a, b, siemens }) => ({ a, b, ohms: 1 / siemens })),
      ...junctions.map(({ a, k }) => ({ a, b: k, ohms: JUNCTION_WAY_OHMS })),
      ...transistors.map(({ terminals: [, c, e] }) => ({ a: c, b: e, ohms: TRANSISTOR_WAY_OHMS })),
    ],
  );
  conductances.forEach((c, i) => {
    if (!c.lamp) return;
    const across = Math.abs(volts[c.a]! - volts[c.b]!);
    conductances[i] = { ...c, lamp: { ...c.lamp, rated: across >= 1 ? across : highest } };
  });
}

const FALLBACK_TRANSISTOR: DeviceType = {
  type: '',
  kind: 'transistor',
  polarity: 'pnp',
  material: 'ge',
  vj: 0.25,
  ij: 5e-3,
  icbo: 3e-6,
  rs: 0,
  n: 1,
  source: 'assumed where a type is not known',
};
const FALLBACK_DIODE: DeviceType = {
  type: '',
  kind: 'diode',
  material: 'ge',
  vj: 0.35,
  ij: 5e-3,
  icbo: 1e-5,
  rs: 0,
  n: 1.8,
  source: 'assumed where a type is not known',
};
const FALLBACK_ZENER: DeviceType = {
  type: '',
  kind: 'zener',
  material: 'si',
  vj: 0.7,
  ij: ZENER_AMPERES,
  icbo: 1e-7,
  rs: 10,
  n: 1.5,
  source: 'assumed where a type is not known',
};
