import { memo } from 'react';
import { type Axis, engraving, PAD, xOf } from './axis.ts';
import { volts } from './figures.ts';
import {
  type Arrow,
  type Aside,
  type Band,
  type Dot,
  MEASURES,
  type Side,
  type Size,
  type StripInput,
  stripGeometry,
} from './geometry.ts';
import './strip.css';

export interface StripProps {
  readonly input: StripInput;
  readonly axis: Axis;
  /** Pixels at size 100 %. */
  readonly width: number;
  readonly height: number;
  readonly size?: Size;
  /** Where the axis runs, from the top; the middle without it. */
  readonly middle?: number;
  /** Uprights at rails and 0 V run from here to there; the whole height without it. */
  readonly uprights?: readonly [number, number];
  /** No operating point was found: there is nothing to expect. */
  readonly empty?: boolean;
}

/**
 * A level strip, drawn. It is a picture only: the figures stand beside it in the same row, and `stripWords` is what a screen
 * reader says, so the picture itself is hidden from it.
 */
export const Strip = memo(function Strip({
  input,
  axis,
  width,
  height,
  size = 'row',
  middle = height / 2,
  uprights = [0, height],
  empty = false,
}: StripProps) {
  const shape = stripGeometry(input, axis, width, size);
  const measures = MEASURES[size];
  const top = middle - measures.band / 2;
  return (
    <svg className="strip" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
      <Uprights axis={axis} width={width} from={uprights[0]} to={uprights[1]} />
      <path
        className="strip-axis"
        d={`M${at(axis, width, axis.from)} ${half(middle)}H${at(axis, width, axis.to)}`}
      />
      {empty && <EmptyChannel axis={axis} width={width} middle={middle} />}
      {shape.band && (
        <BandShape band={shape.band} top={top} height={measures.band} mean={size === 'enlarged'} />
      )}
      {shape.drawing && (
        <path
          className="strip-bracket"
          d={`M${shape.drawing.left} ${middle + 6}v5.5H${shape.drawing.right}v-5.5`}
        />
      )}
      {shape.mark && <Stem mark={shape.mark} middle={middle} line={measures.stem} />}
      {shape.rings.map(({ x }, i) => (
        <circle
          // biome-ignore lint/suspicious/noArrayIndexKey: rings have no name of their own
          key={i}
          className="strip-ring"
          cx={x}
          cy={middle}
          r={measures.ring}
          strokeWidth={measures.ringLine}
        />
      ))}
      {shape.rings.map(
        ({ x, off }) => off && <Chevrons key={off} x={x} middle={middle} side={off} kind="ring" />,
      )}
      {shape.mark && <Mark mark={shape.mark} middle={middle} r={measures.ring} />}
      {shape.off && (
        <Chevrons
          x={shape.off === 'left' ? PAD : width - PAD}
          middle={middle}
          side={shape.off}
          kind={shape.mark?.kind ?? 'dot'}
        />
      )}
      {shape.off && (
        <text
          className="strip-value"
          x={shape.off === 'left' ? PAD + 4 : width - PAD - 4}
          y={size === 'row' ? middle - 4.5 : middle - 20}
          textAnchor={shape.off === 'left' ? 'start' : 'end'}
        >
          {volts(input.reading!)}
        </text>
      )}
      {shape.whisker && (
        <path
          className="strip-whisker"
          d={whiskerPath(shape.whisker.left, shape.whisker.right, middle + (size === 'row' ? 9 : 19))}
        />
      )}
      {shape.history.map(({ x, length }, i) => (
        <path
          // biome-ignore lint/suspicious/noArrayIndexKey: ticks stay in the order of their days
          key={i}
          className="strip-tick"
          d={`M${x} ${top + measures.band + 3}v${length}`}
          strokeWidth={i === shape.history.length - 1 ? 2.4 : 1.4}
        />
      ))}
      {shape.flags.map(({ letters, x, stems }) => (
        <g key={letters}>
          {stems.map((stem) => (
            <path
              key={stem}
              className="strip-flag"
              d={`M${half(stem)} ${Math.max(24, top - 20)}V${top + 8}`}
            />
          ))}
          <text className="strip-letter" x={x} y={Math.max(18, top - 25)} textAnchor="middle">
            {letters}
          </text>
        </g>
      ))}
      {shape.pointer !== undefined && (
        <path className="strip-pointer" d={`M${shape.pointer - 4} ${middle - 13}h8l-4 7z`} />
      )}
    </svg>
  );
});

/** Rail lines and the 0 V line; of every row and of the gaps between, so that they run on. */
export function Uprights({
  axis,
  width,
  from,
  to,
}: {
  readonly axis: Axis;
  readonly width: number;
  readonly from: number;
  readonly to: number;
}) {
  const zero = axis.low <= 0 && axis.high >= 0;
  return (
    <>
      {axis.rails.map((rail) => (
        <path key={rail} className="strip-rail" d={`M${half(at(axis, width, rail))} ${from}V${to}`} />
      ))}
      {zero && <path className="strip-zero" d={`M${half(at(axis, width, 0))} ${from}V${to}`} />}
    </>
  );
}

/** The engraved scale. */
export function Scale({
  axis,
  width,
  unit = 'V',
}: {
  readonly axis: Axis;
  readonly width: number;
  readonly unit?: 'V' | 'mV';
}) {
  return (
    <svg className="strip" viewBox={`0 0 ${width} 38`} aria-hidden="true">
      <path className="scale-line" d={`M${at(axis, width, axis.from)} 2.5H${at(axis, width, axis.to)}`} />
      {engraving(axis, width, unit).map(({ volts: level, label }) => {
        const x = at(axis, width, level);
        const unitText = / m?V$/.exec(label)?.[0] ?? '';
        return (
          <g key={level}>
            <path
              className="scale-tick"
              d={`M${half(x)} 2.5v${label ? 10 : 5.5}`}
              strokeWidth={label ? 1.75 : 1}
            />
            {label && (
              <text className="scale-figure" x={x} y="32" textAnchor="middle">
                {label.slice(0, label.length - unitText.length)}
              </text>
            )}
            {unitText && (
              <text className="scale-figure" x={x + (label.length - unitText.length) * 4.9 + 4} y="32">
                {unitText}
              </text>
            )}
          </g>
        );
      })}
    </svg>
  );
}

function BandShape({
  band: { left, right, mean, kind },
  top,
  height,
  mean: withMean,
}: {
  readonly band: Band;
  readonly top: number;
  readonly height: number;
  readonly mean: boolean;
}) {
  const bottom = top + height;
  if (kind === 'learnt') {
    return <path className="strip-learnt" d={`M${left} ${top}V${bottom}M${right} ${top}V${bottom}`} />;
  }
  return (
    <>
      {kind === 'loose' ? (
        <path className="strip-hatch" d={hatchPath(left, right, top, bottom)} />
      ) : (
        <rect className="strip-band" x={left} y={top} width={right - left} height={height} />
      )}
      {withMean && <path className="strip-mean" d={`M${mean} ${top}V${bottom}`} />}
      <path
        className="strip-edge"
        d={
          kind === 'loose'
            ? `M${left} ${top}H${right}V${bottom}H${left}z`
            : `M${left} ${top}V${bottom}M${right} ${top}V${bottom}`
        }
      />
    </>
  );
}

const HATCH = 6;

/** Slanting lines cut off at the sides of their box. */
function hatchPath(left: number, right: number, top: number, bottom: number): string {
  const rise = bottom - top;
  const lines: string[] = [];
  for (let x = left - rise + HATCH / 2; x < right; x += HATCH) {
    const from = Math.max(x, left);
    const to = Math.min(x + rise, right);
    lines.push(`M${round(from)} ${round(bottom - (from - x))}L${round(to)} ${round(bottom - (to - x))}`);
  }
  return lines.join('');
}

/** The line under a mark, drawn before the ring so that the ring lies on it. */
function Stem({
  mark,
  middle,
  line,
}: {
  readonly mark: Arrow | Dot | Aside;
  readonly middle: number;
  readonly line: number;
}) {
  if (mark.kind === 'arrow' && mark.start !== mark.neck) {
    return <path className="strip-stem" d={`M${mark.start} ${middle}H${mark.neck}`} strokeWidth={line} />;
  }
  if (mark.kind === 'dot' && mark.tail !== undefined) {
    return <path className="strip-tail" d={`M${mark.tail} ${middle}H${mark.x}`} />;
  }
  return null;
}

function Mark({
  mark,
  middle,
  r,
}: {
  readonly mark: Arrow | Dot | Aside;
  readonly middle: number;
  readonly r: number;
}) {
  if (mark.kind === 'dot') return <circle className="strip-dot" cx={mark.x} cy={middle} r={mark.r} />;
  if (mark.kind === 'arrow') {
    const { tip, neck, headHeight } = mark;
    return (
      <path
        className="strip-head"
        d={`M${tip} ${middle}L${neck} ${middle - headHeight / 2}V${middle + headHeight / 2}z`}
      />
    );
  }
  const back = mark.toward === 'left' ? r * 2 : -r * 2;
  return (
    <g className="strip-aside">
      {mark.toward ? (
        <path d={`M${mark.x} ${middle}l${back} ${-r * 1.1}v${r * 2.2}z`} />
      ) : (
        <circle cx={mark.x} cy={middle} r={r} />
      )}
      <path
        d={`M${mark.x + (mark.toward ? back / 2 : 0) - r * 1.5} ${middle + r * 1.5}l${r * 3} ${-r * 3}`}
      />
    </g>
  );
}

function Chevrons({
  x,
  middle,
  side,
  kind,
}: {
  readonly x: number;
  readonly middle: number;
  readonly side: Side;
  readonly kind: 'ring' | Arrow['kind'] | Dot['kind'] | Aside['kind'];
}) {
  const ahead = side === 'right' ? 1 : -1;
  const one = (from: number) => `M${x + ahead * from} ${middle - 5}l${ahead * 4.5} 5l${-ahead * 4.5} 5`;
  return <path className={kind === 'arrow' ? 'strip-off departs' : 'strip-off'} d={one(2) + one(7.5)} />;
}

function EmptyChannel({
  axis,
  width,
  middle,
}: {
  readonly axis: Axis;
  readonly width: number;
  readonly middle: number;
}) {
  const [left, right] = [at(axis, width, axis.from) + 10, at(axis, width, axis.to) - 10];
  return (
    <path className="strip-empty" d={`M${left} ${middle - 8}H${right}M${left} ${middle + 8}H${right}`} />
  );
}

function whiskerPath(left: number, right: number, y: number): string {
  return `M${left} ${y - 3.5}v7M${left} ${y}H${right}M${right} ${y - 3.5}v7`;
}

function at(axis: Axis, width: number, level: number): number {
  return round(xOf(axis, width, level));
}

/** On the middle of a pixel, so that a line of one pixel is one. */
function half(x: number): number {
  return Math.floor(x) + 0.5;
}

function round(x: number): number {
  return Math.round(x * 100) / 100;
}
