import fc from 'fast-check';
import { expect, test } from 'vitest';
import { shortestRings, strongParts } from './strong-parts.ts';

/** Which nodes reach which by one edge or more, and in how few: Floyd and Warshall's sum, nothing of Tarjan's in it. */
function distances(count: number, edges: readonly (readonly [number, number])[]): number[][] {
  const far = Array.from({ length: count }, () => Array<number>(count).fill(Number.POSITIVE_INFINITY));
  for (const [from, to] of edges) far[from]![to] = 1;
  for (let k = 0; k < count; k++)
    for (let i = 0; i < count; i++)
      for (let j = 0; j < count; j++) far[i]![j] = Math.min(far[i]![j]!, far[i]![k]! + far[k]![j]!);
  return far;
}

const graphs = fc.integer({ min: 1, max: 12 }).chain((count) =>
  fc.record({
    count: fc.constant(count),
    edges: fc.array(fc.tuple(fc.nat(count - 1), fc.nat(count - 1)), { maxLength: 3 * count }),
  }),
);

function graphOf(count: number, edges: readonly (readonly [number, number])[]) {
  const graph = new Map<string, Set<string>>(Array.from({ length: count }, (_, i) => [`${i}`, new Set()]));
  for (const [from, to] of edges) graph.get(`${from}`)!.add(`${to}`);
  return graph;
}

test('two nodes are in one loop exactly when each reaches the other', () => {
  fc.assert(
    fc.property(graphs, ({ count, edges }) => {
      const far = distances(count, edges);
      const part = new Map(
        strongParts(graphOf(count, edges)).flatMap((nodes, k) => nodes.map((one) => [one, k])),
      );
      for (let i = 0; i < count; i++)
        for (let j = 0; j < count; j++) {
          const mutual = Number.isFinite(far[i]![j]!) && Number.isFinite(far[j]![i]!);
          const together = part.has(`${i}`) && part.get(`${i}`) === part.get(`${j}`);
          expect(together).toBe(mutual);
        }
    }),
  );
});

test('loops stand in order of size', () => {
  fc.assert(
    fc.property(graphs, ({ count, edges }) => {
      const sizes = strongParts(graphOf(count, edges)).map(({ length }) => length);
      expect(sizes).toEqual([...sizes].sort((a, b) => a - b));
    }),
  );
});

test('every ring is a way around, and no way around through any of its edges is shorter than the shortest ring there', () => {
  fc.assert(
    fc.property(graphs, ({ count, edges }) => {
      const graph = graphOf(count, edges);
      const far = distances(count, edges);
      for (const part of strongParts(graph)) {
        const rings = shortestRings(graph, part);
        const least = new Map<string, number>();
        for (const ring of rings) {
          expect(new Set(ring).size).toBe(ring.length);
          ring.forEach((node, i) => {
            const next = ring[(i + 1) % ring.length]!;
            expect(graph.get(node)!.has(next)).toBe(true);
            const edge = `${node} ${next}`;
            least.set(edge, Math.min(least.get(edge) ?? Number.POSITIVE_INFINITY, ring.length));
          });
        }
        for (const from of part)
          for (const to of graph.get(from)!) {
            if (!part.includes(to)) continue;
            const back = from === to ? 0 : far[Number(to)]![Number(from)]!;
            expect(least.get(`${from} ${to}`)).toBe(1 + back);
          }
      }
    }),
  );
});

test('a ring of twenty thousand nodes, or a chain, does not exhaust the stack', () => {
  const count = 20_000;
  const graph = new Map(Array.from({ length: count }, (_, i) => [`${i}`, [`${(i + 1) % count}`]]));
  expect(strongParts(graph).map(({ length }) => length)).toEqual([count]);
  graph.set(`${count - 1}`, []);
  expect(strongParts(graph)).toEqual([]);
});
