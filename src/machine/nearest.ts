/**
 * Names of `candidates` that a slip of the hand could have turned into `name`, the likeliest only: the same but for
 * capitals and spaces, or at most two letters added, left out, changed or swapped (one in a name of up to four).
 */
export function nearest(name: string, candidates: Iterable<string>, most = 3): string[] {
  const wanted = folded(name);
  if (wanted.length > 40) return [];
  const allowed = wanted.length <= 4 ? 1 : 2;
  const found: { candidate: string; slips: number }[] = [];
  for (const candidate of candidates) {
    if (Math.abs(candidate.length - name.length) > allowed + 2) continue;
    const slips = distance(wanted, folded(candidate), allowed);
    if (slips <= allowed && candidate !== name) found.push({ candidate, slips });
  }
  found.sort((a, b) => a.slips - b.slips || (a.candidate < b.candidate ? -1 : 1));
  const likely = found.filter(({ slips }) => slips === found[0]!.slips);
  return likely.slice(0, most).map(({ candidate }) => candidate);
}

/** `; did you mean A or B?`, or nothing. */
export function suggestion(name: string, candidates: Iterable<string>): string {
  const near = nearest(name, candidates);
  return near.length === 0 ? '' : `; did you mean ${near.join(' or ')}?`;
}

function folded(name: string): string {
  return name.toLowerCase().replaceAll(' ', '');
}

/** Optimal string alignment distance, or more than `limit` as soon as it must be. */
function distance(a: string, b: string, limit: number): number {
  if (Math.abs(a.length - b.length) > limit) return limit + 1;
  let before: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    let least = i;
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1];
      let slips = Math.min(last[j]! + 1, next[j - 1]! + 1, last[j - 1]! + (same ? 0 : 1));
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) {
        slips = Math.min(slips, before[j - 2]! + 1);
      }
      next.push(slips);
      if (slips < least) least = slips;
    }
    if (least > limit) return limit + 1;
    before = last;
    last = next;
  }
  return last[b.length]!;
}
