import { CircuitSolver, type Edit, netlistOf } from '../src/circuit/index.ts';
import { type Condition, type Machine, pointNet } from '../src/machine/index.ts';

/** A unit with a meter to its points: true voltages, and what a meter of some resistance makes of them. */
export class MeteredUnit {
  readonly #unit: Machine;
  readonly #solver: CircuitSolver;
  readonly #described: CircuitSolver;
  readonly #rest = new Map<string, Float64Array>();

  /** @param description  the machine as it is drawn: its levels say into which state a condition puts the unit */
  constructor(unit: Machine, description: Machine) {
    this.#unit = unit;
    this.#solver = new CircuitSolver(netlistOf(unit));
    this.#described = new CircuitSolver(netlistOf(description));
  }

  /** Volts of a net with nothing connected to it, the room at `celsius`. */
  volts(condition: string, net: string, celsius: number): number {
    return this.#at(this.#resting(condition, celsius), net);
  }

  /** Volts that a meter of `ohms` shows at a point: a net, or a pin that may have come off its net. */
  reading(condition: string, point: string, ohms: number, celsius: number): number {
    const start = this.#resting(condition, celsius);
    const net = pointNet(this.#unit, point)!;
    const { netIndex, reference } = this.#solver.netlist;
    const meter = { a: netIndex.get(net)!, b: reference, siemens: 1 / ohms };
    return this.#at(this.#solved(this.#condition(condition), start, { bridge: [meter] }), net);
  }

  #at(volts: Float64Array, net: string): number {
    return volts[this.#solver.netlist.netIndex.get(net)!]!;
  }

  #condition(name: string): Condition {
    return this.#unit.conditions.find((c) => c.name === name)!;
  }

  #resting(name: string, celsius: number): Float64Array {
    const key = `${name} ${celsius}`;
    const known = this.#rest.get(key);
    this.#solver.setParts(undefined, celsius);
    const volts = known ?? this.#solved(this.#condition(name), this.#describedStart(name));
    this.#rest.set(key, volts);
    return volts;
  }

  /** The description's levels on this unit's nets; nets that only the unit has begin at their part's collector or at 0 V. */
  #describedStart(name: string): Float64Array {
    const { volts } = this.#described.solve(this.#condition(name));
    const { netIndex } = this.#described.netlist;
    return Float64Array.from(this.#solver.netlist.nets, (net) => {
      const outer = net.endsWith(':c') ? pointNet(this.#unit, net.replace(/:c$/, '.c'))! : net;
      return volts[netIndex.get(outer) ?? 0]!;
    });
  }

  #solved(condition: Condition, start: Float64Array, edit: Edit = {}): Float64Array {
    const { converged, volts, worst } = this.#solver.solve(condition, { start, edit });
    if (!converged) throw new Error(`no operating point in ${condition.name}: ${JSON.stringify(worst)}`);
    return volts;
  }
}
