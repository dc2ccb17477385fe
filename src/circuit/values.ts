/**
 * The elements' values of the moment: nominal, moved by temperature, by the parameters' deviations, and by a fault's edit.
 */
import { criticalVoltage, type Junction } from './devices/junction.ts';
import {
  gainRatio,
  leakageRatio,
  STATED_CELSIUS,
  saturationRatio,
  thermalVoltage,
} from './devices/temperature.ts';
import type { Transistor } from './devices/transistor.ts';
import type { Edit } from './edit.ts';
import type { Netlist } from './netlist.ts';

/** In `open`, with the number of the one terminal that is left: no current flows in the device. */
export const DEAD = 3;

export class ElementValues {
  readonly netlist: Netlist;
  readonly siemens: Float64Array;
  readonly junctions: Junction[];
  readonly transistors: Transistor[];
  readonly rails: Float64Array;
  /** Volts of each of the netlist's drive levels. */
  readonly levels: Float64Array;
  /** `criticalVoltage` of each junction and transistor. */
  readonly criticalJunction: Float64Array;
  readonly criticalTransistor: Float64Array;
  /** 1 where an edit has removed the junction. */
  readonly cut: Uint8Array;
  /** Open terminal of each transistor, -1 for none, DEAD + the terminal that is left when two are open; and the meter that touches it. */
  readonly open: Int8Array;
  readonly openSiemens: Float64Array;
  bridges: readonly { readonly a: number; readonly b: number; readonly siemens: number }[] = [];
  celsius = Number.NaN;
  deviations: Float64Array | undefined;
  /** Counts up whenever every device's value may have changed. */
  generation = 0;
  /** Count up when an edit changes the device, or takes the change back. */
  readonly transistorVersion: Int32Array;
  readonly junctionVersion: Int32Array;

  constructor(netlist: Netlist) {
    this.netlist = netlist;
    this.siemens = new Float64Array(netlist.conductances.length);
    // Filled in by `set`. Fractions from the start, so that V8 gives all of them one shape for good.
    this.junctions = netlist.junctions.map(() => ({ is: 0.5, nvt: 0.5, rs: 0.5, leak: 0.5, vz: 0.5 }));
    this.transistors = netlist.transistors.map(({ sign }) => ({
      sign,
      is: 0.5,
      nvt: 0.5,
      bf: 0.5,
      br: 0.5,
      leak: 0.5,
    }));
    this.rails = new Float64Array(netlist.machine.rails.length);
    this.levels = new Float64Array(netlist.levels.length);
    this.criticalJunction = new Float64Array(netlist.junctions.length);
    this.criticalTransistor = new Float64Array(netlist.transistors.length);
    this.cut = new Uint8Array(netlist.junctions.length);
    this.open = new Int8Array(netlist.transistors.length).fill(-1);
    this.openSiemens = new Float64Array(netlist.transistors.length);
    this.transistorVersion = new Int32Array(netlist.transistors.length);
    this.junctionVersion = new Int32Array(netlist.junctions.length);
    this.set(undefined, STATED_CELSIUS);
  }

  private isJunction(owner: string): boolean {
    return this.netlist.elementsOf.get(owner)!.junction >= 0;
  }

  /**
   * Sets every element to its nominal value moved by `deviations` (in units of each parameter's spread, length
   * `parameters`; undefined for none) at `celsius`, plus the deviation of the temperature parameter.
   */
  set(deviations: Float64Array | undefined, celsius: number): void {
    if (deviations === undefined && this.deviations === undefined && celsius === this.celsius) return;
    const { netlist } = this;
    this.generation++;
    this.celsius = celsius;
    this.deviations = deviations;
    let t = celsius;
    if (deviations)
      netlist.parameters.forEach((p, i) => {
        if (p.kind === 'celsius') t += deviations[i]! * p.spread;
      });
    const vt = thermalVoltage(t) / thermalVoltage(STATED_CELSIUS);
    const leak = leakageRatio(t);
    const gain = gainRatio(t);
    netlist.conductances.forEach((c, i) => {
      this.siemens[i] = c.siemens;
    });
    netlist.junctions.forEach((j, i) => {
      const own = this.junctions[i]!;
      own.is = j.is * saturationRatio(j.type.material, j.type.n, t);
      own.nvt = j.nvt * vt;
      own.rs = j.rs;
      own.leak = j.leak * leak;
      own.vz = j.vz;
    });
    netlist.transistors.forEach((q, i) => {
      const own = this.transistors[i]!;
      own.is = q.is * saturationRatio(q.type.material, q.type.n, t);
      own.nvt = q.nvt * vt;
      own.bf = q.bf * gain;
      own.br = q.br;
      own.leak = q.leak * leak;
    });
    netlist.machine.rails.forEach((r, i) => {
      this.rails[i] = r.volts;
    });
    netlist.levels.forEach((l, i) => {
      this.levels[i] = l.volts;
    });
    if (deviations) this.deviate(deviations);
    this.junctions.forEach((j, i) => {
      this.criticalJunction[i] = criticalVoltage(j.is, j.nvt);
    });
    this.transistors.forEach((q, i) => {
      this.criticalTransistor[i] = criticalVoltage(q.is, q.nvt);
    });
  }

  private deviate(deviations: Float64Array): void {
    const { siemens, junctions, transistors } = this;
    this.netlist.parameters.forEach((p, i) => {
      const d = deviations[i]! * p.spread;
      if (d === 0) return;
      switch (p.kind) {
        case 'ohms':
          siemens[p.element]! *= Math.exp(-d);
          break;
        case 'setting': {
          const whole = 1 / siemens[p.element]! + 1 / siemens[p.element + 1]!;
          const share = Math.min(0.999, Math.max(0.001, 1 / siemens[p.element]! / whole + d));
          siemens[p.element] = 1 / (whole * share);
          siemens[p.element + 1] = 1 / (whole * (1 - share));
          break;
        }
        case 'saturation':
          if (this.isJunction(p.owner)) junctions[p.element]!.is *= Math.exp(d);
          else transistors[p.element]!.is *= Math.exp(d);
          break;
        case 'gain':
          transistors[p.element]!.bf *= Math.exp(d);
          break;
        case 'leakage':
          if (this.isJunction(p.owner)) junctions[p.element]!.leak *= Math.exp(d);
          else transistors[p.element]!.leak *= Math.exp(d);
          break;
        case 'zener':
          junctions[p.element]!.vz = Math.max(0.5, junctions[p.element]!.vz + d);
          break;
        case 'rail':
          this.rails[p.element]! += d;
          break;
        case 'drive':
          this.levels[p.element]! += d;
          break;
        case 'celsius':
          break;
      }
    });
  }

  /** Applies a fault's edit; the returned function takes it back. */
  apply(edit: Edit | undefined): () => void {
    if (!edit) return () => {};
    const { siemens, transistors } = this;
    const undo: (() => void)[] = [];
    for (const c of edit.conductance ?? []) {
      const old = siemens[c.element]!;
      siemens[c.element] = c.siemens;
      undo.push(() => {
        siemens[c.element] = old;
      });
    }
    for (const g of edit.gain ?? []) {
      const q = transistors[g.transistor]!;
      const old = q.bf;
      q.bf = old * g.factor;
      undo.push(() => {
        q.bf = old;
      });
    }
    for (const j of edit.cut ?? []) this.cut[j] = 1;
    for (const o of edit.open ?? []) {
      const other = this.open[o.transistor]!;
      // The terminals' numbers add up to 3.
      this.open[o.transistor] =
        other < 0 || other === o.terminal
          ? o.terminal
          : other >= DEAD
            ? other
            : DEAD + 3 - other - o.terminal;
      this.openSiemens[o.transistor] = o.siemens;
    }
    this.bridges = edit.bridge ?? [];
    this.touch(edit);
    return () => {
      for (let i = undo.length - 1; i >= 0; i--) undo[i]!();
      for (const j of edit.cut ?? []) this.cut[j] = 0;
      for (const o of edit.open ?? []) this.open[o.transistor] = -1;
      this.bridges = [];
      this.touch(edit);
    };
  }

  private touch(edit: Edit): void {
    for (const g of edit.gain ?? []) this.transistorVersion[g.transistor]!++;
    for (const o of edit.open ?? []) this.transistorVersion[o.transistor]!++;
    for (const j of edit.cut ?? []) this.junctionVersion[j]!++;
  }
}
