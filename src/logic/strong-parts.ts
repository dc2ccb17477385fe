/**
 * Loops of a directed graph: its strongly connected parts, and short rings in each.
 *
 * A strongly connected part is a largest set of nodes of which each is reached from each. Only those that hold a loop are given: two
 * nodes or more, or one that leads to itself.
 *
 * @source R. Tarjan, Depth-first search and linear graph algorithms, SIAM J. Comput. 1 (1972) 146-160 (from memory)
 */

/** What each node leads to. A node that leads nowhere may be left out. */
export type Graph = ReadonlyMap<string, Iterable<string>>;

/** The strongly connected parts that hold a loop, the smallest first, nodes in the order in which the graph names them. */
export function strongParts(graph: Graph): string[][] {
  const index = new Map<string, number>();
  const low = new Map<string, number>();
  const stack: string[] = [];
  const stacked = new Set<string>();
  const parts: string[][] = [];
  for (const root of graph.keys()) {
    if (index.has(root)) continue;
    // The recursion of the paper on a stack of our own: a long chain of stages must not exhaust the machine's.
    const path: { node: string; rest: Iterator<string> }[] = [];
    const enter = (node: string): void => {
      index.set(node, index.size);
      low.set(node, index.get(node)!);
      stack.push(node);
      stacked.add(node);
      path.push({ node, rest: (graph.get(node) ?? [])[Symbol.iterator]() });
    };
    enter(root);
    while (path.length > 0) {
      const { node, rest } = path.at(-1)!;
      const { value: next, done } = rest.next();
      if (done !== true) {
        if (!index.has(next)) enter(next);
        else if (stacked.has(next)) low.set(node, Math.min(low.get(node)!, index.get(next)!));
        continue;
      }
      path.pop();
      const above = path.at(-1);
      if (above !== undefined) low.set(above.node, Math.min(low.get(above.node)!, low.get(node)!));
      if (low.get(node) !== index.get(node)) continue;
      const part = stack.splice(stack.lastIndexOf(node));
      for (const one of part) stacked.delete(one);
      if (part.length > 1 || [...(graph.get(node) ?? [])].includes(node)) parts.push(part);
    }
  }
  const order = new Map([...graph.keys()].map((node, i) => [node, i]));
  const place = (node: string) => order.get(node) ?? Number.POSITIVE_INFINITY;
  for (const part of parts) part.sort((a, b) => place(a) - place(b));
  return parts.sort((a, b) => a.length - b.length || place(a[0]!) - place(b[0]!));
}

/**
 * For each edge of a strongly connected part a shortest ring through it, each ring once, the smallest first. The nodes of a ring stand in
 * the direction of the flow, the one that comes first in `part` first.
 */
export function shortestRings(graph: Graph, part: readonly string[]): string[][] {
  const inside = new Set(part);
  const place = new Map(part.map((node, i) => [node, i]));
  const rings = new Map<string, string[]>();
  for (const start of part) {
    const before = new Map<string, string>([[start, start]]);
    const queue = [start];
    for (let i = 0; i < queue.length; i++) {
      for (const next of graph.get(queue[i]!) ?? []) {
        if (!inside.has(next) || before.has(next)) continue;
        before.set(next, queue[i]!);
        queue.push(next);
      }
    }
    // The edges that close a ring at `start`: from each node that leads to it, by a shortest way there.
    for (const last of part) {
      if (![...(graph.get(last) ?? [])].includes(start)) continue;
      const ring: string[] = [];
      for (let node = last; node !== start; node = before.get(node)!) ring.push(node);
      ring.push(start);
      ring.reverse();
      const first = ring.reduce(
        (best, node, i) => (place.get(node)! < place.get(ring[best]!)! ? i : best),
        0,
      );
      const turned = [...ring.slice(first), ...ring.slice(0, first)];
      rings.set(turned.join('\n'), turned);
    }
  }
  return [...rings.values()].sort((a, b) => a.length - b.length);
}
