import type { BitDifference, Difference, StateDifference } from '../../waveform/index.ts';
import type { Group } from './lanes.ts';
import type { Span } from './span.ts';
import type { Between } from './use-twins.ts';
import type { FoundWords } from './words-panel.tsx';

/** One difference of any of the groups. */
export interface Listed extends Span {
  readonly group: number;
  /** Point at which it is. */
  readonly title: string;
  readonly unit: string;
  readonly what:
    | { readonly kind: 'trace'; readonly difference: Difference }
    | { readonly kind: 'state'; readonly state: StateDifference }
    | { readonly kind: 'bit'; readonly bit: BitDifference };
}

/** Words of one group, by the key of its reference. */
export interface Found {
  readonly of: string;
  readonly words: FoundWords;
}

/** All differences in the order of time; those of bits, where words were read, in place of those of states. */
export function listedOf(
  groups: readonly Group[],
  between: ReadonlyMap<string, Between>,
  found: Found | undefined,
): readonly Listed[] {
  const all = groups.flatMap((group, index): Listed[] => {
    const { reference } = group;
    const what = reference && between.get(reference.key);
    if (found && found.of === reference?.key && found.words.differences.length > 0) {
      return found.words.differences.map((bit: BitDifference, k) => {
        const departure = found.words.departures[k]!;
        return { ...departure, group: index, title: reference.title, unit: '', what: { kind: 'bit', bit } };
      });
    }
    if (what?.kind === 'logic') {
      return what.differences.map((state) => ({
        from: state.from,
        to: state.to,
        group: index,
        title: reference!.title,
        unit: '',
        what: { kind: 'state', state },
      }));
    }
    if (what?.kind !== 'trace' || !('differences' in what.comparison)) return [];
    return what.comparison.differences.map((difference) => ({
      from: difference.from,
      to: difference.to,
      group: index,
      title: reference!.title,
      unit: reference!.unit,
      what: { kind: 'trace', difference },
    }));
  });
  return all.sort((p, q) => p.from - q.from);
}
