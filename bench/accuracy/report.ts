/** The tables of the trials: hits by board and half, reliability, walks; as text, and as plain values for JSON. */
import type { Claim, Kind, Score, Twin, Walk } from './score.ts';

export interface Line {
  readonly board: string;
  readonly trials: number;
  readonly right: number;
  /** 95 % Wilson interval of the share. */
  readonly low: number;
  readonly high: number;
  readonly exactRight?: number;
}
export interface ReliabilityBin {
  readonly from: number;
  readonly to: number;
  readonly claims: number;
  /** Mean probability given, and share that was right. */
  readonly given: number;
  readonly right: number;
}
export interface WalkLine {
  readonly walks: number;
  readonly named: number;
  readonly namedRight: number;
  readonly groups: number;
  readonly groupHolds: number;
  readonly spent: number;
  readonly readings: number;
  readonly minutes: number;
}
export interface Section {
  readonly kind: Kind;
  readonly twin: Twin;
  readonly lines: readonly Line[];
  readonly reliability: readonly ReliabilityBin[];
  /** Reliability of the part that a walk names where it stops. */
  readonly stopping?: readonly ReliabilityBin[];
  readonly walks?: { readonly program: WalkLine; readonly exact?: WalkLine };
  /** Trials that named a single part at 90 % or more, and how many of these parts were wrong. */
  readonly confident: number;
  readonly confidentWrong: number;
  readonly misses: readonly string[];
  readonly invisibleShare: number;
  readonly saysSo?: number;
}

/** Wilson's interval of a share, 95 % (Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212; formula from memory). */
export function wilson(right: number, of: number): [number, number] {
  if (of === 0) return [0, 1];
  const z = 1.959964;
  const p = right / of;
  const middle = (p + z ** 2 / (2 * of)) / (1 + z ** 2 / of);
  const half = (z * Math.sqrt((p * (1 - p)) / of + z ** 2 / (4 * of ** 2))) / (1 + z ** 2 / of);
  return [middle - half, middle + half];
}

const EDGES = [0.05, 0.15, 0.3, 0.5, 0.65, 0.75, 0.9, 0.97, 1];

export function reliability(claims: readonly Claim[]): ReliabilityBin[] {
  return EDGES.slice(0, -1).map((from, k) => {
    const to = EDGES[k + 1]!;
    const inside = claims.filter(([p]) => p >= from && (p < to || (to === 1 && p <= 1 + 1e-9)));
    const mean = (of: readonly number[]) => (of.length === 0 ? 0 : of.reduce((a, b) => a + b, 0) / of.length);
    return {
      from,
      to,
      claims: inside.length,
      given: mean(inside.map(([p]) => p)),
      right: mean(inside.map(([, right]) => (right ? 1 : 0))),
    };
  });
}

function walkLine(walks: readonly Walk[]): WalkLine {
  const of = (end: Walk['end']) => walks.filter((w) => w.end === end);
  const mean = (value: (w: Walk) => number) =>
    walks.length === 0 ? 0 : walks.reduce((sum, w) => sum + value(w), 0) / walks.length;
  return {
    walks: walks.length,
    named: of('named').length,
    namedRight: of('named').filter((w) => w.right).length,
    groups: of('group').length,
    groupHolds: of('group').filter((w) => w.right || w.inGroup).length,
    spent: of('spent').length,
    readings: mean((w) => w.readings),
    minutes: mean((w) => w.minutes),
  };
}

export function sections(scores: readonly Score[]): Section[] {
  const keys = [...new Set(scores.map((s) => `${s.kind} ${s.twin}`))];
  return keys.map((key) => {
    const own = scores.filter((s) => `${s.kind} ${s.twin}` === key);
    const { kind, twin } = own[0]!;
    const line = (board: string, list: readonly Score[]): Line => {
      const right = list.filter((s) => s.right).length;
      const [low, high] = wilson(right, list.length);
      const exact = list.filter((s) => s.exactRight !== undefined);
      return {
        board,
        trials: list.length,
        right,
        low,
        high,
        ...(exact.length > 0 ? { exactRight: exact.filter((s) => s.exactRight).length } : {}),
      };
    };
    const boards = [...new Set(own.map((s) => s.board))];
    const confident = own.filter((s) => s.probability >= 0.9 && s.named.includes('/'));
    const walks = own.flatMap((s) => (s.walk ? [s.walk] : []));
    const exact = own.flatMap((s) => (s.exactWalk ? [s.exactWalk] : []));
    const planted = kind === 'sound' ? 0 : own.reduce((sum, s) => sum + s.planted.length, 0);
    const invisible = own.reduce((sum, s) => sum + s.invisible, 0);
    const result: Section = {
      kind,
      twin,
      lines: [
        ...boards.map((board) =>
          line(
            board,
            own.filter((s) => s.board === board),
          ),
        ),
        line('all', own),
      ],
      reliability: reliability(own.flatMap((s) => s.claims)),
      confident: confident.length,
      confidentWrong: confident.filter((s) => !s.right).length,
      misses: own
        .filter((s) => !s.right)
        .map(
          (s) =>
            `${s.board} ${s.number}: ${s.planted.join(' and ') || 'sound'}; named ${s.named} at ${s.probability.toFixed(2)}` +
            (s.walk ? ` after ${s.walk.readings} readings, ended ${s.walk.end}` : '') +
            (s.exactRight === undefined ? '' : `, exact ${s.exactRight ? 'right' : 'wrong'}`) +
            (s.wrong ? `; ${s.wrong.what}` : ''),
        ),
      invisibleShare: planted + invisible === 0 ? 0 : invisible / (planted + invisible),
      ...(walks.length > 0
        ? {
            walks: { program: walkLine(walks), ...(exact.length > 0 ? { exact: walkLine(exact) } : {}) },
            stopping: reliability(own.flatMap((s) => (s.walk ? [stopClaim(s)] : []))),
          }
        : {}),
      ...(kind === 'wrong'
        ? { saysSo: own.filter((s) => s.wrong?.saysSo).length / Math.max(1, own.length) }
        : {}),
    };
    return result;
  });
}

function stopClaim(score: Score): Claim {
  const { probability, right } = score.walk!;
  return [Math.min(1, probability), right];
}

const percent = (x: number) => `${(100 * x).toFixed(0)} %`.padStart(6);

function binsText(title: string, bins: readonly ReliabilityBin[]): string {
  const rows = bins
    .filter((b) => b.claims > 0)
    .map(
      (b) =>
        `    ${b.from.toFixed(2)} to ${b.to.toFixed(2)}   ${String(b.claims).padStart(5)}   given ${percent(b.given)}   right ${percent(b.right)}`,
    );
  return [`  ${title}`, ...rows].join('\n');
}

function walkText(name: string, w: WalkLine): string {
  const wrong = w.named - w.namedRight;
  return (
    `  ${name}: ${w.walks} walks, ${w.readings.toFixed(2)} readings (${w.minutes.toFixed(1)} min) beyond the symptom; ` +
    `${w.named} named at 90 %, ${wrong} of these wrong; ${w.groups} ended in a group, ${w.groupHolds} of these holding the part; ${w.spent} spent`
  );
}

export function text(list: readonly Section[]): string {
  return list
    .map((s) => {
      const head = `${s.kind}, healthy unit: ${s.twin}   (not visible, and so not planted: ${percent(s.invisibleShare).trim()} of draws)`;
      const rows = s.lines.map(
        (l) =>
          `  ${l.board.padEnd(10)} ${String(l.right).padStart(4)} of ${String(l.trials).padStart(4)} ${percent(l.right / Math.max(1, l.trials))}` +
          `   [${percent(l.low).trim()}, ${percent(l.high).trim()}]` +
          (l.exactRight === undefined
            ? ''
            : `   exact ${l.exactRight}, ratio ${(l.right / Math.max(1, l.exactRight)).toFixed(3)}`),
      );
      const parts = [
        head,
        ...rows,
        binsText('probability of a part, and how often it was the one', s.reliability),
      ];
      if (s.walks) {
        parts.push(walkText('program', s.walks.program));
        if (s.walks.exact) {
          parts.push(walkText('exact  ', s.walks.exact));
          parts.push(
            `  readings against exact: ${(s.walks.program.readings / Math.max(0.01, s.walks.exact.readings)).toFixed(2)}`,
          );
        }
      }
      if (s.stopping)
        parts.push(binsText('probability where the walk stopped, and how often it was right', s.stopping));
      if (s.saysSo !== undefined)
        parts.push(`  says that the drawing is at odds: ${percent(s.saysSo).trim()}`);
      if (s.misses.length > 0) parts.push('  misses', ...s.misses.map((m) => `    ${m}`));
      return parts.join('\n');
    })
    .join('\n\n');
}
