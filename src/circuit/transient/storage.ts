/**
 * What stores charge or flux in a circuit: capacitors, inductors, coupled windings, junctions, transistors; and the
 * parameters in which sound units differ there.
 *
 * Where a type says nothing, values by material and build. All of them are common practice, no source, unless they say otherwise.
 */
import type { DeviceType } from '../../machine/index.ts';
import type { Depletion } from '../devices/charge.ts';
import { STATED_CELSIUS, thermalVoltage } from '../devices/temperature.ts';
import type { Netlist } from '../netlist.ts';

/** A capacitor: the leakage's conductance has the same ends; where an edit makes that 0, the capacitor is off the circuit. */
export interface Capacitance {
  readonly part: string;
  readonly conductance: number;
  readonly a: number;
  readonly b: number;
  readonly farads: number;
}
/** An inductor, or all windings of a transformer, each in series with its wire. */
export interface Inductance {
  readonly part: string;
  /** The conductance of each winding's wire; where an edit makes it 0, the winding is open. */
  readonly conductances: readonly number[];
  /** Henries, row by row: self inductances on the diagonal, mutual ones beside it; first pins (`1a`, `2a`) rise together. */
  readonly henries: readonly number[];
}
/** Charge of a transistor. Depletion layers of both junctions, and what carriers in transit make up. */
export interface TransistorStorage {
  readonly emitter: Depletion;
  readonly collector: Depletion;
  /** Seconds of forward current in store. */
  readonly forward: number;
  /** Seconds of reverse current in store: the charge of saturation. */
  readonly reverse: number;
}
export interface JunctionStorage {
  readonly layer: Depletion;
  /** Seconds of forward current in store. */
  readonly transit: number;
}

/**
 * One quantity of storage in which sound units differ, by the factor exp(deviation), its deviation counted in `spread`s.
 * Beside the netlist's `parameters`.
 */
export interface StorageParameter {
  readonly kind: 'farads' | 'henries' | 'transit' | 'layer';
  readonly owner: string;
  /** Index into the list of the kind: capacitance, inductance; for `transit`, `layer` the transistor, or the junction where `junction`. */
  readonly element: number;
  readonly junction?: boolean;
  readonly spread: number;
  readonly common: number;
}
export interface Storage {
  readonly capacitances: readonly Capacitance[];
  readonly inductances: readonly Inductance[];
  /** As the netlist's transistors and junctions. */
  readonly transistors: readonly TransistorStorage[];
  readonly junctions: readonly JunctionStorage[];
  readonly parameters: readonly StorageParameter[];
}

/** Coupling of two windings on one core. */
export const WINDING_COUPLING = 0.98;
/**
 * Inductance over resistance of a winding, seconds. The folder gives ohms only; windings that share the room for copper
 * have both in the square of their turns, so that the ratio of the windings comes out right.
 */
const WINDING_SECONDS = 2e-3;

/** Built-in voltages, volts: of some 1e15 against 1e18 a cubic centimetre. */
const PHI_GE = 0.4;
const PHI_SI = 0.75;
/** Germanium types from this frequency on are diffused (drift, mesa), below alloyed, hertz. */
const DIFFUSED_HERTZ = 30e6;
/** Cut-off frequencies where the type states none: small alloy germanium, a power type, silicon planar, hertz. */
const FT_GE = 4e6;
const FT_GE_POWER = 200e3;
const FT_SI = 200e6;
/** Layer capacitances at no voltage, farads: some 12 pF of an alloy collector at 6 V, 4 pF of a planar one. */
const COLLECTOR_GE = 50e-12;
const EMITTER_GE = 30e-12;
const COLLECTOR_DIFFUSED = 8e-12;
const EMITTER_DIFFUSED = 8e-12;
/** Reverse transit time over forward, germanium: some 1 nC in a small switch of 4 MHz at 1 mA of base current. */
const REVERSE_GE = 2;
/** Least reverse transit time of silicon planar: storage of some 0.2 us in a small switch, seconds. */
const REVERSE_SI = 100e-9;
/** Diodes: layer at no voltage, farads; carriers in store, seconds. */
const DIODE_GE_FARADS = 1e-12;
const DIODE_SI_FARADS = 2e-12;
const ZENER_FARADS = 100e-12;
const DIODE_GE_SECONDS = 100e-9;
const DIODE_SI_SECONDS = 6e-9;
const RECTIFIER_SECONDS = 3e-6;
/** A silicon diode that drops less has a metal junction, and stores nothing, volts. */
const METAL_VOLTS = 0.5;
/** Stated currents from which a type is for power, amperes, and the usual ones. */
const POWER_AMPERES = 0.1;
const USUAL_GE = 5e-3;
const USUAL_SI = 2e-3;
const USUAL_DIODE = 1e-3;
/** The most that a large type's layers are larger than a small one's. */
const MOST_SIZE = 20;

/** Natural logarithms: the band of transit times and layers about the typical type. */
const TRANSIT_SPREAD = 0.25;
const LAYER_SPREAD = 0.2;

function sizeOf(type: DeviceType, usual: number): number {
  return Math.min(MOST_SIZE, Math.max(1, type.ij / usual));
}

/**
 * Storage of a transistor type. The forward transit time is what is left of 1 / (2 pi ft) when the layers have taken
 * their part at the stated current; no less than a third.
 */
export function transistorStorage(type: DeviceType): TransistorStorage {
  const germanium = type.material === 'ge';
  const ft = type.ft ?? (germanium ? (type.ij >= POWER_AMPERES ? FT_GE_POWER : FT_GE) : FT_SI);
  const abrupt = germanium && ft < DIFFUSED_HERTZ;
  const size = sizeOf(type, germanium ? USUAL_GE : USUAL_SI);
  const phi = germanium ? PHI_GE : PHI_SI;
  const emitter = { farads: size * (abrupt ? EMITTER_GE : EMITTER_DIFFUSED), phi, abrupt };
  const collector = { farads: size * (abrupt ? COLLECTOR_GE : COLLECTOR_DIFFUSED), phi, abrupt };
  const whole = 1 / (2 * Math.PI * ft);
  const layers = ((emitter.farads + collector.farads) * thermalVoltage(STATED_CELSIUS)) / type.ij;
  const forward = Math.max(whole / 3, whole - layers);
  const reverse = germanium ? REVERSE_GE * forward : Math.max(REVERSE_SI, REVERSE_GE * forward);
  return { emitter, collector, forward, reverse };
}

export function junctionStorage(type: DeviceType): JunctionStorage {
  if (type.kind === 'zener')
    return { layer: { farads: ZENER_FARADS, phi: PHI_SI, abrupt: true }, transit: DIODE_SI_SECONDS };
  const size = Math.max(1, type.ij / USUAL_DIODE);
  if (type.material === 'ge')
    return {
      layer: { farads: size * DIODE_GE_FARADS, phi: PHI_GE, abrupt: true },
      transit: DIODE_GE_SECONDS,
    };
  const transit = type.vj < METAL_VOLTS ? 0 : type.ij >= POWER_AMPERES ? RECTIFIER_SECONDS : DIODE_SI_SECONDS;
  return { layer: { farads: Math.min(size, 100) * DIODE_SI_FARADS, phi: PHI_SI, abrupt: false }, transit };
}

const known = new WeakMap<Netlist, Storage>();

/** The storage of a netlist's parts; made once. */
export function storageOf(netlist: Netlist): Storage {
  let found = known.get(netlist);
  if (!found) {
    found = newStorage(netlist);
    known.set(netlist, found);
  }
  return found;
}

function newStorage(netlist: Netlist): Storage {
  const capacitances: Capacitance[] = [];
  const inductances: Inductance[] = [];
  const parameters: StorageParameter[] = [];
  const spread = (percent: number): number => Math.max(1e-4, (percent / 100) * 0.6);
  for (const part of netlist.machine.parts) {
    const { conductances } = netlist.elementsOf.get(part.name)!;
    const [first] = conductances;
    if (first === undefined) continue;
    const { a, b } = netlist.conductances[first]!;
    const own = { owner: part.name, spread: spread(part.tolerance), common: 0.2 };
    if (part.kind === 'capacitor' && a !== b) {
      parameters.push({ kind: 'farads', element: capacitances.length, ...own });
      capacitances.push({ part: part.name, conductance: first, a, b, farads: part.value ?? 1e-9 });
    } else if (part.kind === 'inductor' && a !== b) {
      parameters.push({ kind: 'henries', element: inductances.length, ...own });
      inductances.push({ part: part.name, conductances: [first], henries: [part.value ?? 1e-3] });
    } else if (part.kind === 'transformer') {
      const self = conductances.map((c) => WINDING_SECONDS / netlist.conductances[c]!.siemens);
      parameters.push({ kind: 'henries', element: inductances.length, ...own, spread: 0.3 });
      inductances.push({
        part: part.name,
        conductances,
        henries: self.flatMap((l, i) =>
          self.map((m, k) => (i === k ? l : WINDING_COUPLING * Math.sqrt(l * m))),
        ),
      });
    }
  }
  const device = (kind: 'transit' | 'layer', owner: string, element: number, junction: boolean): void => {
    parameters.push({
      kind,
      owner,
      element,
      ...(junction ? { junction } : {}),
      spread: kind === 'transit' ? TRANSIT_SPREAD : LAYER_SPREAD,
      common: 0.5,
    });
  };
  const transistors = netlist.transistors.map((q, i) => {
    device('transit', q.part, i, false);
    device('layer', q.part, i, false);
    return transistorStorage(q.type);
  });
  const junctions = netlist.junctions.map((j, i) => {
    const storage = junctionStorage(j.type);
    if (storage.transit > 0) device('transit', j.part, i, true);
    device('layer', j.part, i, true);
    return storage;
  });
  return { capacitances, inductances, transistors, junctions, parameters };
}
