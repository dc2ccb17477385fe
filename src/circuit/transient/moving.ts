/**
 * What can move at all: the nets that elements join to one that a wave feeds or that is let go. Ways end at nets whose volts are
 * stated, so that boards between which every line is held stiffly are told apart, and what stands still need not be followed.
 */
import { COLLECTOR, EMITTER } from '../devices/index.ts';
import type { Edit } from '../edit.ts';
import type { Netlist } from '../netlist.ts';
import { storageOf } from './storage.ts';

/** Nets that meet in one element, and the elements at each net. */
interface Meetings {
  readonly elements: readonly (readonly number[])[];
  readonly at: readonly (readonly number[])[];
}

const known = new WeakMap<Netlist, Meetings>();

function meetingsOf(netlist: Netlist): Meetings {
  let found = known.get(netlist);
  if (!found) {
    const elements: (readonly number[])[] = [
      ...netlist.conductances.map(({ a, b }) => [a, b]),
      ...netlist.junctions.map(({ a, k }) => [a, k]),
      ...netlist.transistors.map(({ terminals }) => terminals),
      ...storageOf(netlist).inductances.map((l) =>
        l.conductances.flatMap((c) => [netlist.conductances[c]!.a, netlist.conductances[c]!.b]),
      ),
    ];
    const at: number[][] = netlist.nets.map(() => []);
    elements.forEach((nets, element) => {
      for (const net of nets) at[net]?.push(element);
    });
    found = { elements, at };
    known.set(netlist, found);
  }
  return found;
}

/** How a net is fed: stiffly or through a resistance, by a wave or by volts that stand still. */
export interface FedNet {
  readonly net: number;
  readonly stiff: boolean;
  readonly moves: boolean;
}

/** Of a net whose volts are stated: it is held, or a wave feeds it. */
const HELD = 3;
const FED = 2;

/**
 * By net 0 where it stands still, 1 where it can move, 2 where a wave feeds it stiffly, 3 where stated volts hold it.
 *
 * Where such a wave takes the place of what one board puts out to another, the first is not followed: its output is overruled, and
 * it takes nothing in by it.
 *
 * @param feeds     the drives
 * @param released  nets that are held at some volts at first
 */
export function movingNets(
  netlist: Netlist,
  feeds: readonly FedNet[],
  released: readonly number[],
): Uint8Array {
  const stated = new Uint8Array(netlist.nets.length);
  stated[netlist.reference] = 1;
  for (const { net } of netlist.machine.rails) stated[netlist.netIndex.get(net)!] = 1;
  for (const { net, stiff } of feeds) if (stiff) stated[net] = 1;
  const moving = stated.map((is) => is * HELD);
  const open = [...feeds.filter(({ moves }) => moves).map(({ net }) => net), ...released];
  for (const net of open) moving[net] = stated[net] ? FED : 1;
  const overruled = new Set(open.flatMap((net) => (stated[net] ? overruledSides(netlist, net) : [])));
  const { elements, at } = meetingsOf(netlist);
  for (let net = open.pop(); net !== undefined; net = open.pop())
    for (const element of at[net]!)
      for (const other of elements[element]!) {
        if (moving[other] || (moving[net] === FED && overruled.has(other))) continue;
        moving[other] = 1;
        open.push(other);
      }
  return moving;
}

/** The sides of a net on boards that put it out, where others take it in. */
function overruledSides(netlist: Netlist, net: number): number[] {
  const { elements, at } = meetingsOf(netlist);
  const sides = at[net]!.flatMap((element) => elements[element]!).filter(
    (other) => other !== net && netlist.namedNet[other] === netlist.namedNet[net],
  );
  const out = sides.filter((side) =>
    netlist.transistors.some(({ terminals }) => terminals[COLLECTOR] === side || terminals[EMITTER] === side),
  );
  return out.length < sides.length ? out : [];
}

/** Whether an edit changes an element at a net that can move otherwise than it is fed; one that does not changes nothing of what moves. */
export function stirs(netlist: Netlist, edit: Edit, moving: Uint8Array): boolean {
  const nets = [
    ...(edit.conductance ?? []).flatMap(({ element }) => {
      const { a, b } = netlist.conductances[element]!;
      return [a, b];
    }),
    ...(edit.bridge ?? []).flatMap(({ a, b }) => [a, b]),
    ...(edit.cut ?? []).flatMap((j) => [netlist.junctions[j]!.a, netlist.junctions[j]!.k]),
    ...[...(edit.open ?? []), ...(edit.gain ?? [])].flatMap((q) => [
      ...netlist.transistors[q.transistor]!.terminals,
    ]),
    ...(edit.stored ?? []).flatMap(({ kind, element }) =>
      kind === 'transistor'
        ? [...netlist.transistors[element]!.terminals]
        : kind === 'junction'
          ? [netlist.junctions[element]!.a, netlist.junctions[element]!.k]
          : [netlist.conductances[element]!.a, netlist.conductances[element]!.b],
    ),
  ];
  return nets.some((net) => moving[net] === 1);
}
