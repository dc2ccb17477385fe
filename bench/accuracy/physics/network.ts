/** A machine as elements of the true physics between numbered nodes, with its faults built in. */
import type { Machine, Part } from '../../../src/machine/model.ts';
import { Bipolar, Conductor, type Element, Junction, Lamp } from './element.ts';
import { type Matrix, matrixOf } from './matrix.ts';
import { DIODE, type ParameterTable, TRANSISTOR, ZENER, ZENER_TEST_CURRENT } from './parameters.ts';

/**
 * A fault in the true physics. `severity` is the factor of `high` and `low-gain`, the ohms of a short or a
 * leak, and for a trimmer's `open` the place of the break along the track (0 at pin 1).
 */
export interface Fault {
  readonly part: string;
  readonly mode: string;
  severity: number;
}

const NEXT_TO_NOTHING = 1e-12;

interface PartModel {
  readonly elements: readonly Element[];
  /** Sets the elements' constants from the part's slots at a temperature in °C. */
  set(slot: (k: number) => number, celsius: number): void;
}

export interface Network {
  readonly machine: Machine;
  readonly table: ParameterTable;
  readonly faults: readonly Fault[];
  /** Nodes 0 to unknowns-1 are solved for; the rest (reference, rails) are known. */
  readonly unknowns: number;
  readonly nodes: number;
  readonly elements: readonly Element[];
  /** Positions in `matrix.values` of each element's derivatives, -1 for a known row or column. */
  readonly places: readonly Int32Array[];
  readonly diagonal: Int32Array;
  readonly matrix: Matrix;
  readonly models: ReadonlyMap<string, PartModel>;
  nodeOfNet(net: string): number;
  /** Node of a point of the format: a net, or `BOARD/REF.pin`. */
  nodeOfPoint(point: string): number;
  /** Voltages of the known nodes at a parameter vector. */
  known(theta: Float64Array, volts: Float64Array): void;
  /** Sets every part's constants, or one part's, from a parameter vector; `ambient` in °C. */
  set(theta: Float64Array, ambient: number, part?: string): void;
}

export function network(machine: Machine, table: ParameterTable, faults: readonly Fault[] = []): Network {
  const number = new Map<string, number>();
  const knownNets = [machine.reference, ...machine.rails.map((r) => r.net)].filter(
    (net, k, all) => all.indexOf(net) === k,
  );
  const knownSet = new Set(knownNets);
  let count = 0;
  const fresh = () => count++;
  const separated = new Map<string, number>();
  for (const fault of faults)
    if (fault.mode.startsWith('open-joint:')) {
      const pin = `${fault.part}.${fault.mode.slice('open-joint:'.length)}`;
      separated.set(pin, fresh());
    }
  const netNode = (net: string): number => {
    let node = number.get(net);
    if (node === undefined) {
      node = knownSet.has(net) ? -1 - knownNets.indexOf(net) : fresh();
      number.set(net, node);
    }
    return node;
  };
  for (const condition of machine.conditions) for (const drive of condition.drives) netNode(drive.net);
  const models = new Map<string, PartModel>();
  const typeOf = (part: Part) => {
    const type = machine.types.get(part.type);
    if (type === undefined) throw new RangeError(`${part.name}: unknown type ${part.type}`);
    return type;
  };
  const elements: Element[] = [];

  for (const part of machine.parts) {
    const node = (pin: string): number => {
      const apart = separated.get(`${part.name}.${pin}`);
      if (apart !== undefined) return apart;
      const found = part.pins.find((p) => p.pin === pin);
      if (found === undefined) throw new RangeError(`${part.name}: no pin ${pin}`);
      return netNode(found.net);
    };
    for (const p of part.pins) node(p.pin);
    const has = (mode: string): Fault | undefined =>
      faults.find((f) => f.part === part.name && f.mode === mode);
    const list: Element[] = [];
    const put = <E extends Element>(element: E): E => {
      list.push(element);
      return element;
    };
    /** A conductor between two pins whose ohms are the severity of a fault, where the part has it. */
    const across = (mode: string, a: number, b: number): (() => void) | undefined => {
      const fault = has(mode);
      if (fault === undefined) return undefined;
      const path = put(new Conductor(a, b, 0));
      return () => {
        path.siemens = 1 / fault.severity;
      };
    };
    let set: PartModel['set'] | undefined;
    switch (part.kind) {
      case 'resistor':
      case 'capacitor':
      case 'inductor':
      case 'fuse':
      case 'switch': {
        const path = put(new Conductor(node('1'), node('2'), 0));
        const shunts = [across('short', node('1'), node('2')), across('leaky', node('1'), node('2'))];
        const open = has('open');
        const high = has('high');
        const value = part.value ?? Number.NaN;
        set = (slot) => {
          const spread = Math.exp(slot(0));
          let ohms: number;
          if (part.kind === 'resistor') ohms = value * spread * (high?.severity ?? 1);
          // Insulation as a time constant: 50 s for electrolytics, 1,000 s for the rest (common practice).
          else if (part.kind === 'capacitor') ohms = ((value >= 0.9e-6 ? 50 : 1000) / value) * spread;
          else if (part.kind === 'inductor') ohms = 1.5 * spread;
          else if (part.kind === 'fuse') ohms = (0.1 / value) * spread;
          else ohms = part.closed ? 0.03 * spread : 1e9;
          path.siemens = open ? NEXT_TO_NOTHING : 1 / ohms;
          for (const shunt of shunts) shunt?.();
        };
        break;
      }
      case 'lamp': {
        const filament = put(new Lamp(node('1'), node('2'), 1));
        const shunt = across('short', node('1'), node('2'));
        const open = has('open');
        set = (slot) => {
          filament.hot = open ? 1 / NEXT_TO_NOTHING : (part.value ?? Number.NaN) * Math.exp(slot(0));
          shunt?.();
        };
        break;
      }
      case 'transformer': {
        const windings = (part.windings ?? []).map((ohms, k) => {
          const a = node(`${k + 1}a`);
          const b = node(`${k + 1}b`);
          return {
            ohms,
            path: put(new Conductor(a, b, 0)),
            open: has(`open:${k + 1}`),
            shunt: across(`short:${k + 1}`, a, b),
          };
        });
        set = (slot) => {
          windings.forEach((w, k) => {
            w.path.siemens = w.open ? NEXT_TO_NOTHING : 1 / (w.ohms * Math.exp(slot(k)));
            w.shunt?.();
          });
        };
        break;
      }
      case 'trimmer': {
        const inner = fresh();
        const first = put(new Conductor(node('1'), inner, 0));
        const second = put(new Conductor(inner, node('2'), 0));
        const wiper = put(new Conductor(inner, node('w'), 1));
        const open = has('open');
        const openW = has('open-w');
        const high = has('high');
        set = (slot) => {
          const whole = (part.value ?? Number.NaN) * Math.exp(slot(0)) * (high?.severity ?? 1);
          const share = Math.min(0.99, Math.max(0.01, (part.setting ?? 0.5) + slot(1)));
          const broken = open === undefined ? 0 : open.severity < share ? 1 : 2;
          first.siemens = broken === 1 ? NEXT_TO_NOTHING : 1 / (whole * share);
          second.siemens = broken === 2 ? NEXT_TO_NOTHING : 1 / (whole * (1 - share));
          wiper.siemens = openW ? NEXT_TO_NOTHING : 1;
        };
        break;
      }
      case 'diode':
      case 'zener': {
        const type = typeOf(part);
        const inner = fresh();
        const blank = { is: 1, slope: 1, isr: 0, vt: 1, leak: 0, ohmic: 0, vz: 0, iz: 0, knee: 1 };
        const junction = put(new Junction(inner, node('k'), blank));
        const series = put(new Conductor(node('a'), inner, 0));
        const shunts = [across('short', node('a'), node('k')), across('leaky', node('a'), node('k'))];
        const open = has('open');
        const zener = part.kind === 'zener';
        set = (slot, ambient) => {
          const celsius = ambient + slot(zener ? ZENER.warmth : DIODE.warmth);
          const vt = 8.617333e-5 * (celsius + 273.15);
          if (zener) {
            const rz = (type.rs > 0 ? type.rs : 8) * Math.exp(slot(ZENER.rz));
            const slope = 1.2 * vt;
            const vz = (part.value ?? Number.NaN) * Math.exp(slot(ZENER.vz));
            const vf = type.vj + slot(ZENER.vj) - 0.0018 * (celsius - 25);
            junction.constants = {
              is: type.ij / Math.exp(vf / slope),
              slope,
              isr: 0,
              vt,
              leak: 0,
              ohmic: 1e-7,
              vz: vz - rz * ZENER_TEST_CURRENT + slot(ZENER.slope) * (celsius - 25),
              iz: ZENER_TEST_CURRENT,
              knee: Math.exp(slot(ZENER.knee)),
            };
            series.siemens = open ? NEXT_TO_NOTHING : 1 / rz;
          } else {
            const rs = (type.rs > 0 ? type.rs : 0.01 / type.ij) * Math.exp(slot(DIODE.rs));
            const slope = type.n * Math.exp(slot(DIODE.emission)) * vt;
            const inside = Math.max(type.vj + slot(DIODE.vj) - rs * type.ij, 0.1);
            const at = inside + slot(DIODE.slope) * (celsius - 25);
            const share = Math.min(0.3, Math.exp(slot(DIODE.recombination)));
            const is = ((1 - share) * type.ij) / Math.exp(at / slope);
            const isr = (share * type.ij) / Math.exp(at / (2 * vt));
            const warm = 2 ** ((celsius - 25) / slot(DIODE.doubling));
            const leak = type.icbo * Math.exp(slot(DIODE.icbo)) * warm;
            const ohmicShare = Math.min(0.8, Math.exp(slot(DIODE.ohmic)));
            junction.constants = {
              is,
              slope,
              isr,
              vt,
              leak: Math.max(0, leak * (1 - ohmicShare) - is - isr),
              ohmic: (leak * ohmicShare) / 8,
              vz: 0,
              iz: 0,
              knee: 1,
            };
            series.siemens = open ? NEXT_TO_NOTHING : 1 / rs;
          }
          for (const shunt of shunts) shunt?.();
        };
        break;
      }
      case 'transistor': {
        const type = typeOf(part);
        const [b, e, c] = [node('b'), node('e'), node('c')];
        const [ib, ie, ic] = [fresh(), fresh(), fresh()];
        const sign = type.polarity === 'npn' ? 1 : -1;
        const blank = {
          sign: sign as 1 | -1,
          vt: 1,
          is: 1,
          bf: 1,
          br: 1,
          vaf: 1,
          ikf: 1,
          ise: 0,
          ne: 1.7,
          icbo: 0,
          iebo: 0,
          ohmic: 0,
        };
        const device = put(new Bipolar(ib, ie, ic, blank));
        const rb = put(new Conductor(b, ib, 0));
        const re = put(new Conductor(e, ie, 0));
        const rc = put(new Conductor(c, ic, 0));
        const shunts = [
          across('short-ce', c, e),
          across('short-be', b, e),
          across('short-bc', b, c),
          across('leaky-bc', b, c),
          across('leaky-ce', c, e),
        ];
        const lowGain = has('low-gain');
        const opens = [has('open-b'), has('open-e'), has('open-c')];
        set = (slot, ambient) => {
          const celsius = ambient + slot(TRANSISTOR.warmth);
          const vt = 8.617333e-5 * (celsius + 273.15);
          const ij = type.ij;
          const typical = type.hfeTyp ?? Math.sqrt((type.hfeMin ?? 30) * (type.hfeMax ?? 90));
          const hfe =
            typical *
            Math.exp(slot(TRANSISTOR.hfe)) *
            (1 + 0.005 * (celsius - 25)) *
            (lowGain?.severity ?? 1);
          const rbOhms = (0.4 / ij) * Math.exp(slot(TRANSISTOR.rb));
          const rcOhms = (type.rs > 0 ? type.rs : 0.02 / ij) * Math.exp(slot(TRANSISTOR.rc));
          const reOhms = (0.003 / ij) * Math.exp(slot(TRANSISTOR.re));
          const ikf = ij * Math.exp(slot(TRANSISTOR.knee));
          // At the type's current: qb = 1 + ij/IKF, so the diffusion current is ij qb.
          const diffusion = ij * (1 + ij / ikf);
          const inside =
            type.vj +
            slot(TRANSISTOR.vj) -
            ij * reOhms -
            (ij / typical) * rbOhms +
            slot(TRANSISTOR.slope) * (celsius - 25);
          const baseCurrent = ij / hfe;
          const share = Math.min(0.6, Math.exp(slot(TRANSISTOR.recombination)));
          const ne = 1.7;
          const warm = 2 ** ((celsius - 25) / slot(TRANSISTOR.doubling));
          const icbo = type.icbo * Math.exp(slot(TRANSISTOR.icbo)) * warm;
          const ohmicShare = Math.min(0.8, Math.exp(slot(TRANSISTOR.ohmic)));
          device.constants = {
            sign: sign as 1 | -1,
            vt,
            is: diffusion / Math.exp(inside / vt),
            bf: diffusion / (baseCurrent * (1 - share)),
            br: Math.exp(slot(TRANSISTOR.reverse)),
            vaf: Math.exp(slot(TRANSISTOR.early)),
            ikf,
            ise: (baseCurrent * share) / Math.exp(inside / (ne * vt)),
            ne,
            icbo: icbo * (1 - ohmicShare),
            iebo: 0.3 * icbo,
            ohmic: (icbo * ohmicShare) / 6,
          };
          rb.siemens = opens[0] ? NEXT_TO_NOTHING : 1 / rbOhms;
          re.siemens = opens[1] ? NEXT_TO_NOTHING : 1 / reOhms;
          rc.siemens = opens[2] ? NEXT_TO_NOTHING : 1 / rcOhms;
          for (const shunt of shunts) shunt?.();
        };
        break;
      }
      default:
        break;
    }
    if (set !== undefined) {
      models.set(part.name, { elements: list, set });
      elements.push(...list);
    }
  }

  // Known nodes were numbered -1, -2 …; they follow the unknowns.
  const unknowns = count;
  const settled = (node: number) => (node < 0 ? unknowns - 1 - node : node);
  for (const element of elements)
    for (let k = 0; k < element.nodes.length; k++) element.nodes[k] = settled(element.nodes[k]!);
  const pairs: [number, number][] = [];
  for (const { nodes } of elements)
    for (const a of nodes) for (const b of nodes) if (a < b && b < unknowns) pairs.push([a, b]);
  const matrix = matrixOf(unknowns, pairs);
  const places = elements.map(({ nodes }) => {
    const list = new Int32Array(nodes.length * nodes.length);
    nodes.forEach((a, r) => {
      nodes.forEach((b, s) => {
        list[r * nodes.length + s] = a < unknowns && b < unknowns ? matrix.position(a, b) : -1;
      });
    });
    return list;
  });
  const diagonal = Int32Array.from({ length: unknowns }, (_, k) => matrix.position(k, k));

  const nodeOfNet = (net: string): number => {
    const node = number.get(net);
    if (node !== undefined) return settled(node);
    const known = knownNets.indexOf(net);
    if (known < 0) throw new RangeError(`no net ${net}`);
    return unknowns + known;
  };
  const pinNets = new Map<string, string>();
  for (const part of machine.parts) for (const p of part.pins) pinNets.set(`${part.name}.${p.pin}`, p.net);
  return {
    machine,
    table,
    faults,
    unknowns,
    nodes: unknowns + knownNets.length,
    elements,
    places,
    diagonal,
    matrix,
    models,
    nodeOfNet,
    nodeOfPoint(point) {
      const apart = separated.get(point);
      if (apart !== undefined) return apart;
      return nodeOfNet(pinNets.get(point) ?? point);
    },
    known(theta, volts) {
      knownNets.forEach((net, k) => {
        const rail = machine.rails.find((r) => r.net === net);
        const index = table.rails.get(net);
        volts[unknowns + k] = rail && index !== undefined ? rail.volts * Math.exp(theta[index]!) : 0;
      });
    },
    set(theta, ambient, part) {
      const celsius = ambient + theta[table.temperature]!;
      const one = (name: string, model: PartModel) => {
        const slots = table.slots.get(name)!;
        model.set((k) => {
          let sum = 0;
          for (const index of slots[k]!) sum += theta[index]!;
          return sum;
        }, celsius);
      };
      if (part === undefined) for (const [name, model] of models) one(name, model);
      else {
        const model = models.get(part);
        if (model !== undefined) one(part, model);
      }
    },
  };
}
