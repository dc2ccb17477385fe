/**
 * How net voltages move with every parameter of the parts, at an operating point.
 */
import type { Assembly, PlacedDrive } from './assembly.ts';
import { junctionByParameters } from './devices/junction.ts';
import { BASE, COLLECTOR, EMITTER, transistorByParameters } from './devices/transistor.ts';
import type { Edit } from './edit.ts';
import { pivotedSolve } from './matrix/index.ts';
import type { Parameter } from './netlist.ts';
import { DEAD } from './values.ts';

/** What `sensitivities` finds for each wanted net. */
export interface Sensitivities {
  /** Volts for one spread of each parameter; row-major wanted x parameters. */
  readonly byParameter: Float64Array;
  /** Volts for one spread of the fault's severity. */
  readonly byGrade: Float64Array;
  /** Source resistance that a meter sees at the net, ohms. */
  readonly ohms: Float64Array;
}

/** The element whose logarithm is a fault's severity, and the standard deviation of that logarithm. */
export type SeverityElement = { readonly spread: number } & (
  | { readonly kind: 'conductance'; readonly element: number }
  | { readonly kind: 'bridge'; readonly index: number }
  | { readonly kind: 'gain'; readonly transistor: number }
);

/**
 * One transposed solve a net: J' λ = e, and dV/dp = -λ' dF/dp for all parameters together.
 *
 * @param volts   net voltages of a converged point of this structure with the values' present parts and `edit`
 * @param wanted  net indices; a known or unreached net gives zeros
 * @param grade   the fault's severity, as one more parameter
 * @source S. W. Director, R. A. Rohrer, IEEE Trans. CT-16 (1969) 318-323, adjoint network (from memory)
 */
export function adjointSensitivities(
  assembly: Assembly,
  drives: readonly PlacedDrive[],
  railNets: Int32Array,
  volts: Float64Array,
  wanted: ArrayLike<number>,
  edit?: Edit,
  grade?: SeverityElement,
): Sensitivities {
  const { netlist, values, structure, lu, residual } = assembly;
  const { unknown } = structure;
  const n = structure.netOf.length;
  const { parameters } = netlist;
  assembly.shunt.fill(0);
  assembly.stale = 0;
  assembly.careful = false;
  const v = volts.slice();
  for (let i = 0; i < v.length; i++) if (Number.isNaN(v[i]!)) v[i] = 0;
  const linearise = (): void => {
    assembly.prepare(drives, 1);
    assembly.exactLimits(v);
    assembly.evaluate(v);
  };

  // Derivatives by temperature and rails as differences of the residual at fixed voltages: they touch every element.
  const dense: { parameter: number; column: Float64Array }[] = [];
  const { celsius, deviations } = values;
  // A rail that the condition drives at another voltage does not move its net.
  const drivenRail = (p: Parameter): boolean =>
    p.kind === 'rail' &&
    drives.some((d) => d.siemens === 0 && d.net === railNets[p.element] && d.net !== netlist.reference);
  /** The condition's drive that a parameter moves. */
  const driveOf = (p: Parameter): PlacedDrive | undefined =>
    p.kind === 'drive' ? drives.find((d) => d.level === p.element && d.net !== netlist.reference) : undefined;
  parameters.forEach((p, parameter) => {
    const stiff = driveOf(p)?.siemens === 0;
    if ((p.kind !== 'celsius' && p.kind !== 'rail' && !stiff) || drivenRail(p)) return;
    const column = new Float64Array(n);
    for (const side of [1, -1]) {
      const step = p.kind === 'celsius' ? 0.05 : 1e-4;
      if (p.kind === 'celsius') values.set(deviations, celsius + side * step);
      const restore = values.apply(edit);
      const net = p.kind === 'rail' ? railNets[p.element]! : stiff ? driveOf(p)!.net : -1;
      if (net >= 0) v[net]! += side * step;
      linearise();
      if (net >= 0) v[net]! -= side * step;
      for (let i = 0; i < n; i++) column[i]! += (side * residual[i]! * p.spread) / (2 * step);
      restore();
    }
    if (p.kind === 'celsius') values.set(deviations, celsius);
    dense.push({ parameter, column });
  });

  // What the edit replaces no longer moves with its parameter; the other half of a trimmer does.
  const replaced = new Set((edit?.conductance ?? []).map((c) => c.element));
  const tracks = parameters.map((p) =>
    p.kind === 'setting' ? 1 / values.siemens[p.element]! + 1 / values.siemens[p.element + 1]! : 0,
  );
  const restore = values.apply(edit);
  linearise();
  const regular = assembly.factor();

  // dF/dp of every other parameter: at most three unknowns each.
  const places = new Int32Array(3 * parameters.length).fill(-1);
  const slopes = new Float64Array(3 * parameters.length);
  const out = new Float64Array(9);
  const three = new Float64Array(3);
  const put = (p: number, k: number, net: number, slope: number): void => {
    places[3 * p + k] = unknown[net]!;
    slopes[3 * p + k] = slope;
  };
  const device = (element: number): void => {
    if (values.open[element]! >= DEAD) {
      out.fill(0);
      return;
    }
    const [b, c, e] = netlist.transistors[element]!.terminals;
    three[BASE] = v[b]!;
    three[COLLECTOR] = v[c]!;
    three[EMITTER] = v[e]!;
    if (values.open[element]! >= 0) three[values.open[element]!] = assembly.inner[element]!;
    transistorByParameters(
      values.transistors[element]!,
      three,
      values.open[element]!,
      values.openSiemens[element]!,
      out,
    );
  };
  parameters.forEach((p, index) => {
    if (p.kind === 'ohms') {
      if (replaced.has(p.element)) return;
      const c = netlist.conductances[p.element]!;
      const current = -assembly.conductanceCurrent(p.element, v) * p.spread;
      put(index, 0, c.a, current);
      put(index, 1, c.b, -current);
    } else if (p.kind === 'setting') {
      const lower = netlist.conductances[p.element]!;
      const upper = netlist.conductances[p.element + 1]!;
      const track = tracks[index]! * p.spread;
      const one = replaced.has(p.element)
        ? 0
        : -assembly.conductanceCurrent(p.element, v) * values.siemens[p.element]! * track;
      const two = replaced.has(p.element + 1)
        ? 0
        : assembly.conductanceCurrent(p.element + 1, v) * values.siemens[p.element + 1]! * track;
      put(index, 0, lower.a, one);
      put(index, 1, lower.b, two - one);
      put(index, 2, upper.b, -two);
    } else if (
      p.kind === 'gain' ||
      ((p.kind === 'saturation' || p.kind === 'leakage') && netlist.elementsOf.get(p.owner)!.junction < 0)
    ) {
      device(p.element);
      const row = p.kind === 'saturation' ? 0 : p.kind === 'gain' ? 1 : 2;
      for (let t = 0; t < 3; t++)
        put(index, t, netlist.transistors[p.element]!.terminals[t]!, out[3 * row + t]! * p.spread);
    } else if (p.kind === 'saturation' || p.kind === 'leakage' || p.kind === 'zener') {
      if (values.cut[p.element]) return;
      const j = netlist.junctions[p.element]!;
      junctionByParameters(values.junctions[p.element]!, v[j.a]! - v[j.k]!, out);
      const slope = out[p.kind === 'saturation' ? 0 : p.kind === 'leakage' ? 1 : 3]! * p.spread;
      put(index, 0, j.a, slope);
      put(index, 1, j.k, -slope);
    } else if (p.kind === 'drive') {
      const drive = driveOf(p);
      if (drive && drive.siemens > 0) put(index, 0, drive.net, -drive.siemens * p.spread);
    }
  });
  const gradePlaces = [-1, -1, -1];
  const gradeSlopes = [0, 0, 0];
  if (grade) {
    if (grade.kind === 'gain') {
      device(grade.transistor);
      for (let t = 0; t < 3; t++) {
        gradePlaces[t] = unknown[netlist.transistors[grade.transistor]!.terminals[t]!]!;
        gradeSlopes[t] = out[3 + t]! * grade.spread;
      }
    } else {
      const c = grade.kind === 'bridge' ? values.bridges[grade.index]! : netlist.conductances[grade.element]!;
      const current =
        grade.kind === 'bridge'
          ? values.bridges[grade.index]!.siemens * (v[c.a]! - v[c.b]!)
          : assembly.conductanceCurrent(grade.element, v);
      gradePlaces[0] = unknown[c.a]!;
      gradePlaces[1] = unknown[c.b]!;
      gradeSlopes[0] = current * grade.spread;
      gradeSlopes[1] = -current * grade.spread;
    }
  }

  const count = parameters.length;
  const result: Sensitivities = {
    byParameter: new Float64Array(wanted.length * count),
    byGrade: new Float64Array(wanted.length),
    ohms: new Float64Array(wanted.length),
  };
  const adjoint = new Float64Array(n);
  for (let w = 0; w < wanted.length; w++) {
    const u = unknown[wanted[w]!]!;
    if (u < 0) {
      const source = parameters.findIndex((p) =>
        p.kind === 'rail'
          ? railNets[p.element] === wanted[w]! && !drivenRail(p)
          : driveOf(p)?.siemens === 0 && driveOf(p)!.net === wanted[w]!,
      );
      if (source >= 0) result.byParameter[w * count + source] = parameters[source]!.spread;
      continue;
    }
    adjoint.fill(0);
    adjoint[u] = 1;
    if (regular) lu.solveTransposed(adjoint);
    else {
      const safe = pivotedSolve(structure.pattern, lu.values, adjoint, true);
      // At a singular point no voltage is determined.
      if (!safe) {
        result.byParameter.fill(Number.NaN, w * count, (w + 1) * count);
        result.byGrade[w] = Number.NaN;
        result.ohms[w] = Number.NaN;
        continue;
      }
      adjoint.set(safe);
    }
    result.ohms[w] = adjoint[u]!;
    const base = w * count;
    for (let p = 0; p < count; p++) {
      let sum = 0;
      for (let k = 3 * p; k < 3 * p + 3; k++) {
        const place = places[k]!;
        if (place >= 0) sum -= adjoint[place]! * slopes[k]!;
      }
      result.byParameter[base + p] = sum;
    }
    for (const { parameter, column } of dense) {
      let sum = 0;
      for (let i = 0; i < n; i++) sum -= adjoint[i]! * column[i]!;
      result.byParameter[base + parameter] = sum;
    }
    let sum = 0;
    for (let k = 0; k < 3; k++) if (gradePlaces[k]! >= 0) sum -= adjoint[gradePlaces[k]!]! * gradeSlopes[k]!;
    result.byGrade[w] = sum;
  }
  restore();
  return result;
}
