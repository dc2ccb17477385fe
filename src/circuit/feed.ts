/** Which rail feeds a net, as one sees it from the drawing: the one at the least resistance. */

/** A way for current between two nets, ohms. */
export interface Way {
  readonly a: number;
  readonly b: number;
  readonly ohms: number;
}

/**
 * Volts of the source that each of `nets` nets reaches through the least resistance, NaN where it reaches none.
 *
 * @param sources  nets of known voltage
 */
export function feedVolts(
  nets: number,
  sources: readonly { readonly net: number; readonly volts: number }[],
  ways: readonly Way[],
): Float64Array {
  const volts = new Float64Array(nets).fill(Number.NaN);
  const ohms = new Float64Array(nets).fill(Infinity);
  const from: Way[][] = Array.from({ length: nets }, () => []);
  for (const way of ways) {
    from[way.a]?.push(way);
    from[way.b]?.push(way);
  }
  let front = new Set<number>();
  for (const s of sources) {
    volts[s.net] = s.volts;
    ohms[s.net] = 0;
    front.add(s.net);
  }
  while (front.size > 0) {
    const next = new Set<number>();
    for (const net of front)
      for (const way of from[net]!) {
        const to = way.a === net ? way.b : way.a;
        const sum = ohms[net]! + way.ohms;
        if (!(sum < ohms[to]!)) continue;
        ohms[to] = sum;
        volts[to] = volts[net]!;
        next.add(to);
      }
    front = next;
  }
  return volts;
}
