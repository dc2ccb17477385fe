/** What is remembered while a person works on one unit: letters, what cannot be reached, cautions read, readings taken. */

import { useReducer } from 'react';
import { lettersFor } from './order.ts';

export interface Visit {
  readonly letters: ReadonlyMap<string, string>;
  readonly unreachable: ReadonlySet<string>;
  /** Points whose caution has been confirmed. */
  readonly confirmed: ReadonlySet<string>;
  /** Readings taken in this visit, the last one last. */
  readonly taken: readonly { readonly reading: number; readonly unit: string; readonly point: string }[];
}

const FRESH: Visit = { letters: new Map(), unreachable: new Set(), confirmed: new Set(), taken: [] };

type Change =
  | { readonly kind: 'ranked'; readonly keys: readonly string[] }
  | { readonly kind: 'unreachable'; readonly point: string }
  | { readonly kind: 'confirmed'; readonly point: string }
  | { readonly kind: 'taken'; readonly reading: number; readonly unit: string; readonly point: string }
  | { readonly kind: 'withdrawn'; readonly reading: number };

export function changed(visit: Visit, change: Change): Visit {
  switch (change.kind) {
    case 'ranked': {
      const letters = lettersFor(visit.letters, change.keys);
      return letters === visit.letters ? visit : { ...visit, letters };
    }
    case 'unreachable':
      return { ...visit, unreachable: toggled(visit.unreachable, change.point) };
    case 'confirmed':
      return { ...visit, confirmed: new Set([...visit.confirmed, change.point]) };
    case 'taken': {
      const { reading, unit, point } = change;
      return { ...visit, taken: [...visit.taken, { reading, unit, point }] };
    }
    case 'withdrawn':
      return { ...visit, taken: visit.taken.filter(({ reading }) => reading !== change.reading) };
  }
}

function toggled(points: ReadonlySet<string>, point: string): ReadonlySet<string> {
  return points.has(point)
    ? new Set([...points].filter((one) => one !== point))
    : new Set([...points, point]);
}

/** Visits outlive the page, so that a look at another page costs no letter; a reload begins a new one. */
const visits = new Map<string, Visit>();

export function useVisit(name: string): readonly [Visit, (change: Change) => void] {
  const [, again] = useReducer((count: number) => count + 1, 0);
  const change = (one: Change) => {
    const before = visits.get(name) ?? FRESH;
    const after = changed(before, one);
    if (after === before) return;
    visits.set(name, after);
    again();
  };
  return [visits.get(name) ?? FRESH, change];
}
