/**
 * Kirchhoff's current law checked from the parts list: every part's current is worked out here from its equation and
 * added up at each net. Nothing of the solver is used but the order of its elements, which is that of the parts.
 *
 * Equations: Ohm; the diode law with emission coefficient and series resistance; the transport form of Ebers and Moll
 * with a collector leakage; a zener's breakdown as an exponential of 30 mV. The two device models as docs state them.
 */
import type { Edit, Netlist, OperatingPoint } from '../../src/circuit/index.ts';
import type { Condition, DeviceType, Part } from '../../src/machine/index.ts';

/** k/q of the SI of 2019, volts per kelvin; temperature of stated values, kelvin. */
const K_OVER_Q = 1.380649e-23 / 1.602176634e-19;
const T0 = 298.15;

export interface Imbalance {
  readonly net: string;
  /** Sum of the currents that leave the net, amperes. */
  readonly amperes: number;
  /** Sum of their magnitudes, amperes. */
  readonly flow: number;
}

interface Physics {
  readonly celsius: number;
}

function leakage(amperes: number, volts: number): number {
  return amperes * Math.tanh(volts / 0.1);
}
function saturation(t: DeviceType, drop: number, { celsius }: Physics): number {
  const kelvin = celsius + 273.15;
  const eg = t.material === 'ge' ? 0.67 : 1.12;
  const at25 = t.ij / (Math.exp(drop / (t.n * K_OVER_Q * T0)) - 1);
  const gap = (eg / K_OVER_Q) * (1 / T0 - 1 / kelvin);
  return at25 * ((kelvin / T0) ** 3 * Math.exp(gap)) ** (1 / t.n);
}
function at25(physics: Physics): Physics {
  return { ...physics, celsius: 25 };
}
/** is exp(x), which goes on as its tangent above 100 A. */
function diffusion(is: number, x: number): number {
  const top = Math.log(100 / is);
  return x > top ? 100 * (1 + x - top) : is * Math.exp(x);
}

/** Current from anode to cathode. */
function diodeCurrent(t: DeviceType, part: Part, volts: number, physics: Physics): number {
  const rs = part.kind === 'zener' ? Math.max(1, t.rs) : t.rs;
  const drop = Math.max(0.02, t.vj - t.rs * t.ij);
  const nvt = t.n * K_OVER_Q * (physics.celsius + 273.15);
  const is = saturation(t, drop, physics);
  const surface =
    Math.max(0, t.icbo - saturation(t, drop, at25(physics))) * 2 ** ((physics.celsius - 25) / 10);
  const vz = part.kind === 'zener' ? part.value! : Infinity;
  const inner = (vd: number): number =>
    diffusion(is, vd / nvt) -
    is +
    leakage(surface, vd) -
    (vz === Infinity ? 0 : diffusion(5e-3, -(vd + vz - 5e-3 * rs) / 0.03));
  if (rs === 0) return inner(volts);
  let low = Math.min(volts, 0);
  let high = Math.max(volts, 0);
  for (let k = 0; k < 200; k++) {
    const middle = (low + high) / 2;
    if (middle + rs * inner(middle) > volts) high = middle;
    else low = middle;
  }
  return (volts - (low + high) / 2) / rs;
}

/** Currents into base, collector, emitter. */
function transistorCurrents(t: DeviceType, gain: number, v: readonly number[], physics: Physics): number[] {
  const sign = t.polarity === 'npn' ? 1 : -1;
  const vt = t.n * K_OVER_Q * (physics.celsius + 273.15);
  const bf0 = t.hfeTyp!;
  const bf = bf0 * gain * Math.max(0.2, 1 + 0.005 * (physics.celsius - 25));
  const br = t.material === 'ge' ? 8 : 3;
  const is = saturation(t, t.vj, physics);
  const cold = saturation(t, t.vj, at25(physics));
  const surface = Math.max(0, t.icbo - cold / br - cold / (1 + bf0)) * 2 ** ((physics.celsius - 25) / 10);
  const [vb, vc, ve] = v.map((x) => sign * x) as [number, number, number];
  const forward = diffusion(is, (vb - ve) / vt) - is;
  const reverse = diffusion(is, (vb - vc) / vt) - is;
  const leak = leakage(surface, vc - vb);
  const collector = forward - reverse - reverse / br + leak;
  const base = forward / bf + reverse / br - leak;
  return [base, collector, -base - collector].map((i) => sign * i);
}

function lampOhms(hot: number, volts: number, rated: number): number {
  return hot * (0.1 + 0.9 * (Math.sqrt(Math.abs(volts) / rated + 1e-4) - 0.01));
}

/**
 * The balance of every net whose voltage the solver had to find.
 *
 * @param edit     the fault that was planted
 * @param celsius  temperature of the solve
 */
export function imbalances(
  netlist: Netlist,
  condition: Condition,
  point: OperatingPoint,
  edit: Edit = {},
  celsius = 25,
): Imbalance[] {
  const { machine } = netlist;
  const physics = { celsius };
  const known = new Set([
    machine.reference,
    ...machine.rails.map((r) => r.net),
    ...condition.drives.filter((d) => d.ohms === 0).map((d) => d.net),
  ]);
  const sums = new Map<string, { amperes: number; flow: number }>();
  const volts = (net: string): number => point.volts[netlist.netIndex.get(net)!]!;
  const leave = (net: string, amperes: number): void => {
    const sum = sums.get(net) ?? { amperes: 0, flow: 0 };
    sums.set(net, { amperes: sum.amperes + amperes, flow: sum.flow + Math.abs(amperes) });
  };
  const through = (a: string, b: string, amperes: number): void => {
    if (a === b) return;
    leave(a, amperes);
    leave(b, -amperes);
  };
  const set = new Map((edit.conductance ?? []).map((c) => [c.element, c.siemens]));
  for (const part of machine.parts) {
    const own = netlist.elementsOf.get(part.name)!;
    const pin = (name: string): string => part.pins.find((p) => p.pin === name)!.net;
    const resist = (k: number, a: string, b: string, ohms: number): void => {
      const siemens = set.get(own.conductances[k]!) ?? 1 / ohms;
      through(a, b, siemens * (volts(a) - volts(b)));
    };
    switch (part.kind) {
      case 'resistor':
        resist(0, pin('1'), pin('2'), Math.max(part.value!, 1e-3));
        break;
      case 'trimmer':
        resist(0, pin('1'), pin('w'), part.value! * (part.setting ?? 0.5));
        resist(1, pin('w'), pin('2'), part.value! * (1 - (part.setting ?? 0.5)));
        break;
      case 'capacitor':
        resist(0, pin('1'), pin('2'), part.value! >= 1e-6 ? Math.min(1e10, 100 / part.value!) : 1e10);
        break;
      case 'lamp': {
        const [a, b] = [pin('1'), pin('2')];
        const hot = set.has(own.conductances[0]!) ? 1 / set.get(own.conductances[0]!)! : part.value!;
        const d = volts(a) - volts(b);
        const { rated } = netlist.conductances[own.conductances[0]!]!.lamp!;
        through(a, b, d / lampOhms(hot, d, rated));
        break;
      }
      case 'diode':
      case 'zener': {
        if (edit.cut?.includes(own.junction)) break;
        const [a, k] = [pin('a'), pin('k')];
        through(a, k, diodeCurrent(machine.types.get(part.type)!, part, volts(a) - volts(k), physics));
        break;
      }
      case 'transistor': {
        const t = machine.types.get(part.type)!;
        const nets = [pin('b'), t.rs > 0 ? `${part.name}:c` : pin('c'), pin('e')];
        if (t.rs > 0) resist(0, pin('c'), `${part.name}:c`, t.rs);
        const v = nets.map(volts);
        const gain = (edit.gain ?? []).reduce(
          (g, x) => (x.transistor === own.transistor ? g * x.factor : g),
          1,
        );
        const open = (edit.open ?? []).findIndex((o) => o.transistor === own.transistor);
        const terminal = open < 0 ? -1 : edit.open![open]!.terminal;
        if (open >= 0) v[terminal] = point.opened[open]!;
        const current = transistorCurrents(t, gain, v, physics);
        if (open >= 0) {
          // What the opened terminal takes must come from the meter that touches it.
          leave(`${part.name} opened`, current[terminal]! + edit.open![open]!.siemens * v[terminal]!);
          current[terminal] = 0;
        }
        current.forEach((i, k) => {
          leave(nets[k]!, i);
        });
        break;
      }
      case 'switch':
        resist(0, pin('1'), pin('2'), part.closed === false ? 1e12 : 0.02);
        break;
      case 'fuse':
        resist(0, pin('1'), pin('2'), Math.min(10, 0.15 / part.value!));
        break;
      case 'inductor':
        resist(0, pin('1'), pin('2'), 5);
        break;
      case 'transformer':
        part.windings!.forEach((ohms, k) => {
          resist(k, pin(`${k + 1}a`), pin(`${k + 1}b`), ohms);
        });
        break;
      case 'connector':
      case 'other':
        break;
      default:
        throw new Error(`no equation for ${part.kind}`);
    }
  }
  for (const b of edit.bridge ?? []) {
    const [one, two] = [netlist.nets[b.a]!, netlist.nets[b.b]!];
    through(one, two, b.siemens * (volts(one) - volts(two)));
  }
  for (const d of condition.drives) if (d.ohms > 0) leave(d.net, (volts(d.net) - d.volts) / d.ohms);
  return [...sums]
    .filter(([net]) => !known.has(net) && !(netlist.netIndex.has(net) && Number.isNaN(volts(net))))
    .map(([net, s]) => ({ net, ...s }));
}

/** The net where Kirchhoff fails most, against 1 nA + 1e-6 of the currents there; above 1 it fails. */
export function worstBalance(list: readonly Imbalance[]): { net: string; ratio: number } {
  let worst = { net: '', ratio: 0 };
  for (const { net, amperes, flow } of list) {
    const ratio = Math.abs(amperes) / (1e-9 + 1e-6 * flow);
    if (!(ratio <= worst.ratio)) worst = { net, ratio };
  }
  return worst;
}
