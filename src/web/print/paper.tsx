/** What every sheet of paper has: its format, its edges, the sign of caution; black only. */

import { type ReactNode, type RefObject, useLayoutEffect, useState } from 'react';
import type { MachineView, SuspectsView } from '../../server/index.ts';
import { suspectLines } from '../bench/lines.ts';
import { AT_THE_MACHINE, CHANGING_PARTS, ONLY_ADVICE } from '../cautions.ts';
import { dayWords, today } from '../dates.ts';
import { xOf } from '../strip/axis.ts';
import { stripGeometry } from '../strip/geometry.ts';
import { type Axis, type Level, percent, volts } from '../strip/index.ts';

export type Format = 'a4' | 'letter';

/** Height between the margins, millimetres, less a hair that keeps rounding from making a page of its own. */
export const HEIGHT_MM: Readonly<Record<Format, number>> = { a4: 272, letter: 254 };
/** Of a strip, in the units it is drawn in: five to three CSS pixels, so that its scale has room for its figures. */
export const STRIP_WIDTH: Readonly<Record<Format, number>> = { a4: 340, letter: 377 };
const PX_PER_MM = 96 / 25.4;

export function Paper({
  format,
  title,
  sheet,
  foot,
  children,
}: {
  readonly format: Format;
  readonly title: ReactNode;
  readonly sheet: string;
  readonly foot: readonly [string, string];
  readonly children: ReactNode;
}) {
  return (
    <section className={`paper paper-${format}`} aria-label={sheet}>
      <div className="paper-inside">
        <div className="paper-head" data-measure="">
          <h2>{title}</h2>
          <p>{sheet}</p>
        </div>
        {children}
        <div className="paper-rest" />
        <div className="paper-foot" data-measure="">
          <p>{foot[0]}</p>
          <p>{foot[1]}</p>
        </div>
      </div>
    </section>
  );
}

/** `Sisterboard, printed 14 May 2026 from 41 readings` */
export function printedWords(readings: number): string {
  return `Sisterboard, printed ${dayWords(today())} from ${readings === 1 ? '1 reading' : `${readings} readings`}`;
}

/**
 * The usual cautions and those of this machine, in a ruled box.
 *
 * @param own  of the board and its points
 * @param changing  a part is changed, too
 */
export function CautionBox({
  own,
  changing = false,
}: {
  readonly own: readonly string[];
  readonly changing?: boolean;
}) {
  return (
    <div className="paper-caution" role="note" data-measure="">
      <svg viewBox="0 0 44 44" aria-hidden="true">
        <path d="M22 6 40 37H4z" strokeWidth="3.4" strokeLinejoin="round" />
        <path d="M22 16v11" strokeWidth="3.6" strokeLinecap="round" />
        <circle cx="22" cy="32" r="2.2" />
      </svg>
      <div>
        <p>
          {AT_THE_MACHINE} {changing && `${CHANGING_PARTS} `}
          {!changing && 'Tubes implode: goggles. Old parts stay closed. '}
          {ONLY_ADVICE}
        </p>
        {own.map((text) => (
          <p key={text}>{text}</p>
        ))}
      </div>
    </div>
  );
}

/**
 * Heights of the parts of a sheet that are marked with `data-measure`, millimetres, added up; of those that are marked with
 * `data-below` as well apart. Measured anew whenever one of them changes.
 */
export function useMeasured(box: RefObject<HTMLElement | null>, key: string): { all: number; below: number } {
  const [heights, setHeights] = useState({ all: 0, below: 0 });
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says when there are other parts to measure
  useLayoutEffect(() => {
    const parts = [...(box.current?.querySelectorAll<HTMLElement>('[data-measure]') ?? [])];
    const sum = (list: readonly HTMLElement[]): number =>
      list.reduce((height, part) => {
        const { marginTop, marginBottom } = getComputedStyle(part);
        return height + part.offsetHeight + Number.parseFloat(marginTop) + Number.parseFloat(marginBottom);
      }, 0) / PX_PER_MM;
    const measure = () => {
      const found = { all: sum(parts), below: sum(parts.filter(({ dataset }) => 'below' in dataset)) };
      setHeights((known) => (known.all === found.all && known.below === found.below ? known : found));
    };
    const observer = new ResizeObserver(measure);
    for (const part of parts) observer.observe(part);
    measure();
    return () => observer.disconnect();
  }, [box, key]);
  return heights;
}

/** `−6.49 to −5.81`, two spreads either way. */
export function rangeWords({ value, sigma }: Level): string {
  return `${volts(value - 2 * sigma, sigma)} to ${volts(value + 2 * sigma, sigma)}`;
}

const STRIP_HEIGHT = 42;
const HALF_BAND = 15;
const HATCH = 7;

/** A strip for paper: the band hatched between two uprights, the healthy readings as rings, a reading as a solid mark. */
export function PaperStrip({
  axis,
  width,
  sound,
  learnt = false,
  healthy,
  reading = null,
  height = STRIP_HEIGHT,
}: {
  readonly axis: Axis;
  readonly width: number;
  readonly sound: Level | null;
  readonly learnt?: boolean;
  readonly healthy: readonly number[];
  readonly reading?: number | null;
  readonly height?: number;
}) {
  const middle = height / 2;
  const { band, rings, mark } = stripGeometry({ sound, learnt, healthy, reading }, axis, width, 'row');
  const at = (level: number): number => Math.round(xOf(axis, width, level) * 10) / 10;
  const [top, bottom] = [middle - HALF_BAND, middle + HALF_BAND];
  const point = mark && (mark.kind === 'arrow' ? mark.tip : mark.x);
  return (
    <svg className="paper-strip" viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
      {axis.rails.map((rail) => (
        <path key={rail} className="thin" d={`M${at(rail)} 0V${height}`} />
      ))}
      <path className="zero" d={`M${at(0)} 0V${height}`} />
      <path className="thin" d={`M${at(axis.from)} ${middle}H${at(axis.to)}`} />
      {band && (
        <>
          <rect x={band.left} y={top} width={band.right - band.left} height={bottom - top} fill="#fff" />
          {band.kind !== 'learnt' && <path className="thin" d={hatch(band.left, band.right, top, bottom)} />}
          <path
            className={band.kind === 'learnt' ? 'edge dashed' : 'edge'}
            d={`M${band.left} ${top}V${bottom}M${band.right} ${top}V${bottom}`}
          />
        </>
      )}
      {rings.map(({ x }, i) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: rings have no name of their own
        <circle key={i} className="ring" cx={x} cy={middle} r={7.6} />
      ))}
      {point !== undefined && <circle cx={point} cy={middle} r={5.4} />}
    </svg>
  );
}

/** Slanting lines cut off at the sides of their box. */
function hatch(left: number, right: number, top: number, bottom: number): string {
  const rise = bottom - top;
  const lines: string[] = [];
  for (let x = left - rise + HATCH / 2; x < right; x += HATCH) {
    const [from, to] = [Math.max(x, left), Math.min(x + rise, right)];
    lines.push(`M${from} ${bottom - (from - x)}L${to} ${bottom - (to - x)}`);
  }
  return lines.join('');
}

/** The ranking as it stands, with bars. */
export function PaperSuspects({
  answer,
  most = 5,
}: {
  readonly answer: SuspectsView;
  readonly most?: number;
}) {
  return (
    <ul className="paper-suspects">
      {suspectLines(answer, undefined, most).map(({ key, now, suspect, text }) => (
        <li key={key}>
          <span>
            {text}
            {suspect && ` ${unbroken(suspect.words)}`}
          </span>
          <svg viewBox="0 0 80 10" aria-hidden="true">
            <rect className="bar-frame" x="0.5" y="0.5" width="79" height="9" />
            <rect x="0" y="0" width={Math.max(1.5, now * 80)} height="10" />
          </svg>
          <span className="figure">{percent(now)}</span>
        </li>
      ))}
    </ul>
  );
}

/** A value stays with its unit and with its `about`. */
function unbroken(words: string): string {
  return words.replaceAll(/about (\S+) (\S+)/g, 'about\u00a0$1\u00a0$2');
}

/** Which units are healthy, without the one that the paper is about. */
export function healthyBeside({ units }: MachineView, unit: string): string[] {
  return units.filter((one) => one.health === 'healthy' && one.id !== unit).map(({ id }) => id);
}
