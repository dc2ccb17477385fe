/**
 * How the volts at given nodes move with every parameter: one transposed solve for each node, against the
 * change of each part's own currents with each of its parameters (by small differences at fixed volts).
 */
import type { Condition } from '../../../src/machine/model.ts';
import type { Element } from './element.ts';
import { METER_OHMS, type OperatingPoint, type Solver } from './operating-point.ts';

/**
 * Derivatives of the metered volts of `nodes` by all parameters, row-major nodes x parameters. The network's
 * constants must be those of `theta` and `ambient`; they are the same afterwards.
 */
export function sensitivities(
  solver: Solver,
  point: OperatingPoint,
  condition: Condition,
  theta: Float64Array,
  ambient: number,
  nodes: readonly number[],
): Float64Array {
  const { network } = solver;
  const { table, unknowns } = network;
  const count = table.parameters.length;
  const result = new Float64Array(nodes.length * count);
  const v = point.volts;
  const matrix = solver.linearised(point, condition, theta);
  // Adjoint rows, with the meter's load at the node itself.
  const adjoint = nodes.map((node) => {
    const x = new Float64Array(network.nodes);
    if (node >= unknowns) return x;
    const unit = new Float64Array(unknowns);
    unit[node] = 1;
    matrix.solveTransposed(unit);
    const load = 1 / (1 + Math.max(unit[node]!, 0) / METER_OHMS);
    for (let k = 0; k < unknowns; k++) x[k] = unit[k]! * load;
    return x;
  });
  nodes.forEach((node, row) => {
    if (node < unknowns) return;
    for (const [net, index] of table.rails)
      if (network.nodeOfNet(net) === node) result[row * count + index] = v[node]!;
  });

  const i = new Float64Array(3);
  const g = new Float64Array(9);
  const currents = (elements: readonly Element[]): Float64Array => {
    const list: number[] = [];
    for (const element of elements) {
      element.evaluate(v, i, g, false);
      for (let k = 0; k < element.nodes.length; k++) list.push(i[k]!);
    }
    return Float64Array.from(list);
  };
  const nodesOf = (elements: readonly Element[]) => elements.flatMap((e) => [...e.nodes]);
  const spread = (
    places: readonly number[],
    before: Float64Array,
    after: Float64Array,
    delta: number,
    into: readonly number[],
  ) => {
    for (let row = 0; row < nodes.length; row++) {
      const x = adjoint[row]!;
      let sum = 0;
      for (let k = 0; k < places.length; k++) sum -= x[places[k]!]! * (after[k]! - before[k]!);
      if (sum === 0) continue;
      for (const index of into) result[row * count + index] = result[row * count + index]! + sum / delta;
    }
  };

  for (const [name, model] of network.models) {
    const places = nodesOf(model.elements);
    const before = currents(model.elements);
    for (const slot of table.slots.get(name)!) {
      const index = slot[0]!;
      const { shared, unit } = table.parameters[slot[slot.length - 1]!]!;
      const delta = 1e-3 * Math.hypot(shared, unit) || 1e-5;
      const kept = theta[index]!;
      theta[index] = kept + delta;
      network.set(theta, ambient, name);
      theta[index] = kept;
      spread(places, before, currents(model.elements), delta, slot);
    }
    network.set(theta, ambient + 0.01, name);
    spread(places, before, currents(model.elements), 0.01, [table.temperature]);
    network.set(theta, ambient, name);
  }
  for (const [net, index] of table.rails) {
    const node = network.nodeOfNet(net);
    if (node < unknowns || v[node] === 0) continue;
    const touching = network.elements.filter((e) => e.nodes.includes(node));
    const places = nodesOf(touching);
    const before = currents(touching);
    const kept = v[node]!;
    v[node] = kept * (1 + 1e-6);
    const after = currents(touching);
    v[node] = kept;
    spread(places, before, after, 1e-6, [index]);
  }
  for (const drive of condition.drives) {
    const node = network.nodeOfNet(drive.net);
    const index = table.drives.get(drive.net);
    if (node >= unknowns || index === undefined) continue;
    const amperes = drive.volts * Math.exp(theta[index]!) * solver.driveSiemens(drive);
    for (let row = 0; row < nodes.length; row++)
      result[row * count + index] = result[row * count + index]! + adjoint[row]![node]! * amperes;
  }
  return result;
}
