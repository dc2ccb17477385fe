import { segments } from './stave-geometry.ts';

export interface StaveShare {
  readonly key: string;
  readonly now: number;
  readonly after: number | undefined;
  /** Not a suspect: several together, or none at all. */
  readonly kind: 'suspect' | 'others' | 'none';
  /** Middle of its line in the list, pixels at size 100 %; undefined before it is measured. */
  readonly line: number | undefined;
}

const HOLLOW = { x: 1, width: 11 };
const SOLID = { x: 32, width: 19 };
const LEADER = { from: 53, knee: 72, to: 78 };
const STAVES_WIDTH = 82;

/**
 * Now (hollow) and with the value in the field (solid), each one whole; tinted flows join what is the same suspect's, and a
 * leader runs from each solid part to its line. Without a value there is the solid one alone.
 */
export function Staves({
  shares,
  height,
}: {
  readonly shares: readonly StaveShare[];
  readonly height: number;
}) {
  const preview = shares.some(({ after }) => after !== undefined);
  const now = segments(
    shares.map(({ key, now: share }) => ({ key, share })),
    height,
  );
  const solid = preview
    ? segments(
        shares.map(({ key, after }) => ({ key, share: after ?? 0 })),
        height,
      )
    : now;
  return (
    <svg
      className={preview ? 'staves' : 'staves eased'}
      viewBox={`0 0 ${STAVES_WIDTH} ${height}`}
      aria-hidden="true"
    >
      {preview &&
        now.map(({ key, from, to }, i) => (
          <g key={key}>
            <path
              className="flow"
              d={`M${HOLLOW.x + HOLLOW.width} ${from}L${SOLID.x} ${solid[i]!.from}V${solid[i]!.to}L${HOLLOW.x + HOLLOW.width} ${to}z`}
            />
            <rect className="hollow" x={HOLLOW.x} y={from} width={HOLLOW.width} height={to - from} />
          </g>
        ))}
      {solid.map(({ key, from, to }, i) => {
        const { kind, line } = shares[i]!;
        const middle =
          i === 0 ? Math.min((from + to) / 2, line ?? Number.POSITIVE_INFINITY) : (from + to) / 2;
        return (
          <g key={key}>
            {kind === 'none' ? (
              <path className="solid-none" d={hatch(from, to)} />
            ) : (
              <rect
                className={i === 0 ? 'solid first' : kind === 'suspect' ? 'solid' : 'solid others'}
                x={SOLID.x}
                y={from}
                width={SOLID.width}
                height={to - from}
              />
            )}
            {line !== undefined && (
              <path className="leader" d={`M${LEADER.from} ${middle}L${LEADER.knee} ${line}H${LEADER.to}`} />
            )}
          </g>
        );
      })}
    </svg>
  );
}

/** The same lying down, for a page that is not wide: now above, with the value below. */
export function LyingStaves({
  shares,
  letters,
  width,
}: {
  readonly shares: readonly StaveShare[];
  readonly letters: ReadonlyMap<string, string>;
  readonly width: number;
}) {
  const preview = shares.some(({ after }) => after !== undefined);
  const now = segments(
    shares.map(({ key, now: share }) => ({ key, share })),
    width,
  );
  const solid = preview
    ? segments(
        shares.map(({ key, after }) => ({ key, share: after ?? 0 })),
        width,
      )
    : now;
  const top = preview ? 42 : 1;
  const named = ({ key, from, to }: { key: string; from: number; to: number }) =>
    to - from > 26 ? letters.get(key) : undefined;
  return (
    <svg className="staves lying" viewBox={`0 0 ${width} ${top + 23}`} aria-hidden="true">
      {preview &&
        now.map((segment, i) => (
          <g key={segment.key}>
            <path
              className="flow"
              d={`M${segment.from} 22L${solid[i]!.from} ${top}H${solid[i]!.to}L${segment.to} 22z`}
            />
            <rect className="hollow" x={segment.from} y={1} width={segment.to - segment.from} height={21} />
            {named(segment) && (
              <text className="strip-letter small" x={segment.from + 9} y={17}>
                {named(segment)}
              </text>
            )}
          </g>
        ))}
      {solid.map((segment, i) => (
        <g key={segment.key}>
          <rect
            className={i === 0 ? 'solid first' : shares[i]!.kind === 'suspect' ? 'solid' : 'solid others'}
            x={segment.from}
            y={top}
            width={segment.to - segment.from}
            height={22}
          />
          {named(segment) && shares[i]!.kind === 'suspect' && (
            <text className="strip-letter small inverse" x={segment.from + 9} y={top + 16}>
              {named(segment)}
            </text>
          )}
        </g>
      ))}
    </svg>
  );
}

function hatch(from: number, to: number): string {
  const lines: string[] = [];
  const height = to - from;
  for (let x = SOLID.x; x < SOLID.x + SOLID.width; x += 6) {
    const run = Math.min(SOLID.x + SOLID.width - x, Math.max(4, height));
    lines.push(`M${x} ${to}L${x + run} ${to - Math.min(height, run)}`);
  }
  for (let y = to - 6; y > from + 2; y -= 6) {
    const run = Math.min(SOLID.width, y - from);
    lines.push(`M${SOLID.x} ${y}l${run} ${-run}`);
  }
  return lines.join('');
}
