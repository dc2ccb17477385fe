/** A side of a board with its marks: letters along the margin, sight lines, tags; moved, seen nearer, and marked by pointer and keys. */

import { type PointerEvent, type ReactNode, type RefObject, useEffect, useRef } from 'react';
import type { LevelView } from '../../server/index.ts';
import { type Verdict, volts } from '../strip/index.ts';
import { tagsAt } from './tags.ts';
import {
  type Box,
  fieldName,
  gridLetter,
  gridOf,
  inPicture,
  type Laying,
  moved,
  onScreen,
  type Place,
  pictureBox,
  shownAspect,
  shownPlace,
  takenPlace,
  type View,
  zoomed,
} from './view.ts';

export interface PictureMark {
  readonly name: string;
  readonly short: string;
  /** Share of the picture as it was taken. */
  readonly at: Place;
  readonly exact: boolean;
  readonly reading: number | null;
  readonly sound: LevelView | null;
  readonly verdict: Verdict | null;
  readonly off: number;
  /** 1, 2, 3 of what to read next. */
  readonly order: number | undefined;
}

export interface PictureProps {
  readonly width: number;
  readonly height: number;
  /** Of the picture as it was taken. */
  readonly aspect: number;
  readonly laying: Laying;
  readonly photograph: string | undefined;
  /** In place of a photograph, in a square of 1 by 1 stretched onto the picture. */
  readonly drawn: ReactNode;
  readonly view: View;
  readonly marks: readonly PictureMark[];
  readonly chosen: string | undefined;
  readonly placing: boolean;
  readonly label: string;
  readonly element: RefObject<SVGSVGElement | null>;
  readonly onView: (change: (view: View) => View) => void;
  readonly onChoose: (name: string) => void;
  readonly onPlace: (name: string, at: Place, done: boolean) => void;
}

const MARGIN = { left: 34, top: 34, right: 4, bottom: 6 };
const CLICK = 5;
const NEAR = 16;

export function pictureArea(width: number, height: number): Box {
  return {
    left: MARGIN.left,
    top: MARGIN.top,
    width: Math.max(40, width - MARGIN.left - MARGIN.right),
    height: Math.max(40, height - MARGIN.top - MARGIN.bottom),
  };
}

export function Picture(props: PictureProps) {
  const { width, height, laying, view, marks, chosen, placing, element, photograph } = props;
  const area = pictureArea(width, height);
  const aspect = shownAspect(props.aspect, laying);
  const box = pictureBox(area, aspect, view);
  const seen = clipped(box, area);
  const spot = (mark: PictureMark) => onScreen(shownPlace(mark.at, laying), box);
  const spots = new Map(marks.map((mark) => [mark.name, spot(mark)]));
  const inArea = ({ x, y }: Place) =>
    x >= seen.left - 1 &&
    x <= seen.left + seen.width + 1 &&
    y >= seen.top - 1 &&
    y <= seen.top + seen.height + 1;
  const visible = marks.filter((mark) => inArea(spots.get(mark.name)!));
  const grid = gridOf(aspect);
  // On a small picture signs are smaller, or they would cover what they mark.
  const signs = Math.min(1, Math.max(0.5, Math.sqrt(box.width / 900)));
  const one = marks.find(({ name }) => name === chosen);
  const at = one && spots.get(one.name)!;
  const lit = one && fieldName(shownPlace(one.at, laying), grid);

  const wantsTag = visible.filter(
    ({ verdict, name }) => name !== chosen && (verdict === 'departs' || verdict === 'doubtful'),
  );
  const name =
    one && at && inArea(at) ? [{ name: one.name, at, ...nameSize(one.short, signs), toward: 0 }] : [];
  const points = visible.map((mark) => spots.get(mark.name)!);
  const tags = placing
    ? []
    : tagsAt(
        [
          ...name,
          ...wantsTag
            .sort((a, b) => b.off - a.off)
            .map((mark) => ({
              name: mark.name,
              at: spots.get(mark.name)!,
              width: tagWidth(mark),
              height: 28,
            })),
        ],
        points,
        seen,
      );
  const byName = new Map(marks.map((mark) => [mark.name, mark]));

  const hands = useRef(new Map<number, Place>());
  const began = useRef<{ readonly at: Place; readonly mark: string | undefined; moved: boolean }>(undefined);
  const place = (event: { clientX: number; clientY: number }): Place => {
    const { left, top, width: wide } = element.current!.getBoundingClientRect();
    const scale = width / wide;
    return { x: (event.clientX - left) * scale, y: (event.clientY - top) * scale };
  };
  const nearest = (to: Place): string | undefined => {
    let [best, least] = [undefined as string | undefined, NEAR];
    for (const mark of visible) {
      const { x, y } = spots.get(mark.name)!;
      const distance = Math.hypot(x - to.x, y - to.y);
      if (distance < least) [best, least] = [mark.name, distance];
    }
    return best;
  };
  const taken = (to: Place): Place => {
    const { x, y } = takenPlace(inPicture(to, box), laying);
    return { x: Math.min(1, Math.max(0, x)), y: Math.min(1, Math.max(0, y)) };
  };

  const down = (event: PointerEvent<SVGSVGElement>) => {
    if (event.button !== 0) return;
    event.currentTarget.setPointerCapture(event.pointerId);
    const to = place(event);
    hands.current.set(event.pointerId, to);
    if (hands.current.size === 1) began.current = { at: to, mark: nearest(to), moved: false };
    else if (began.current) began.current.moved = true;
  };
  const move = (event: PointerEvent<SVGSVGElement>) => {
    const was = hands.current.get(event.pointerId);
    if (!was || !began.current) return;
    const to = place(event);
    if (hands.current.size === 2) {
      const [other] = [...hands.current].filter(([id]) => id !== event.pointerId).map(([, hand]) => hand);
      const factor =
        Math.hypot(to.x - other!.x, to.y - other!.y) / Math.hypot(was.x - other!.x, was.y - other!.y);
      const middle = { x: (to.x + other!.x) / 2, y: (to.y + other!.y) / 2 };
      if (Number.isFinite(factor)) props.onView((now) => zoomed(now, factor, middle, area, aspect));
    } else {
      if (Math.hypot(to.x - began.current.at.x, to.y - began.current.at.y) > CLICK)
        began.current.moved = true;
      if (!began.current.moved) return;
      if (placing && began.current.mark !== undefined) props.onPlace(began.current.mark, taken(to), false);
      else props.onView((now) => moved(now, { x: to.x - was.x, y: to.y - was.y }, area, aspect));
    }
    hands.current.set(event.pointerId, to);
  };
  const up = (event: PointerEvent<SVGSVGElement>) => {
    const to = place(event);
    hands.current.delete(event.pointerId);
    const start = began.current;
    if (!start || hands.current.size > 0) return;
    began.current = undefined;
    if (start.moved) {
      if (placing && start.mark !== undefined) props.onPlace(start.mark, taken(to), true);
      return;
    }
    if (!placing) {
      if (start.mark !== undefined) props.onChoose(start.mark);
    } else if (start.mark !== undefined && start.mark !== chosen) props.onChoose(start.mark);
    else if (chosen !== undefined && inArea(to)) props.onPlace(chosen, taken(to), true);
  };
  const lost = (event: PointerEvent<SVGSVGElement>) => hands.current.delete(event.pointerId);

  // React's own wheel listener cannot keep the page from scrolling.
  const wheel = useRef<(event: WheelEvent) => void>(undefined);
  wheel.current = (event) => {
    event.preventDefault();
    const to = place(event);
    const factor = Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0015));
    props.onView((now) => zoomed(now, factor, to, area, aspect));
  };
  useEffect(() => {
    const target = element.current;
    const turn = (event: WheelEvent) => {
      if (event.ctrlKey || document.activeElement === target || target?.matches(':focus-within'))
        wheel.current?.(event);
    };
    target?.addEventListener('wheel', turn, { passive: false });
    return () => target?.removeEventListener('wheel', turn);
  }, [element]);

  const origin = onScreen(shownPlace({ x: 0, y: 0 }, laying), box);
  const right = onScreen(shownPlace({ x: 1, y: 0 }, laying), box);
  const below = onScreen(shownPlace({ x: 0, y: 1 }, laying), box);
  const matrix = `matrix(${[
    right.x - origin.x,
    right.y - origin.y,
    below.x - origin.x,
    below.y - origin.y,
    origin.x,
    origin.y,
  ]
    .map((number) => Number(number.toFixed(3)))
    .join(' ')})`;
  return (
    <svg
      ref={element}
      className={`picture ${photograph ? 'of-photograph' : 'of-drawing'} ${placing ? 'is-placing' : ''} ${view.scale > 1 ? 'is-near' : ''}`}
      width={width}
      height={height}
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={props.label}
      // biome-ignore lint/a11y/noNoninteractiveTabindex: arrows move the picture while it has the focus
      tabIndex={0}
      onPointerDown={down}
      onPointerMove={move}
      onPointerUp={up}
      onPointerCancel={lost}
    >
      <clipPath id="picture-area">
        <rect x={seen.left} y={seen.top} width={seen.width} height={seen.height} />
      </clipPath>
      <g clipPath="url(#picture-area)">
        <g transform={matrix}>
          {photograph ? (
            <image href={photograph} width="1" height="1" preserveAspectRatio="none" />
          ) : (
            props.drawn
          )}
        </g>
      </g>
      <Letters grid={grid} box={box} area={seen} lit={lit} />
      <g clipPath="url(#picture-area)">
        {at && inArea(at) && (
          <path className="sight" d={`M${at.x} ${seen.top}V${at.y - 16}M${seen.left} ${at.y}H${at.x - 16}`} />
        )}
        {at && inArea(at) && (
          <path
            className="sight-line"
            d={`M${at.x} ${seen.top}V${at.y - 16}M${seen.left} ${at.y}H${at.x - 16}`}
          />
        )}
        {tags.map((tag) => {
          const mark = byName.get(tag.name)!;
          const from = spots.get(tag.name)!;
          const to = {
            x: Math.min(tag.left + tag.width, Math.max(tag.left, from.x)),
            y: Math.min(tag.top + tag.height, Math.max(tag.top, from.y)),
          };
          return mark.name === chosen ? null : (
            <g key={`leader ${tag.name}`}>
              <path className="leader-edge" d={`M${from.x} ${from.y}L${to.x} ${to.y}`} />
              <path className="leader-line" d={`M${from.x} ${from.y}L${to.x} ${to.y}`} />
            </g>
          );
        })}
        {visible.map((mark) => (
          <Sign
            key={mark.name}
            mark={mark}
            at={spots.get(mark.name)!}
            chosen={mark.name === chosen}
            placing={placing}
            size={signs}
          />
        ))}
        {tags.map((tag) => {
          const mark = byName.get(tag.name)!;
          return mark.name === chosen ? (
            <g key={`tag ${tag.name}`}>
              <rect className="name-plate" x={tag.left} y={tag.top} width={tag.width} height={tag.height} />
              <text
                className="name-text"
                fontSize={27 * nameScale(signs)}
                x={tag.left + tag.width / 2}
                y={tag.top + 31 * nameScale(signs)}
                textAnchor="middle"
              >
                {mark.short}
              </text>
            </g>
          ) : (
            <g key={`tag ${tag.name}`}>
              <rect className="tag" x={tag.left} y={tag.top} width={tag.width} height={tag.height} />
              <text className="tag-text" x={tag.left + 7} y={tag.top + 20}>
                {mark.short}
              </text>
              <text className="tag-text" x={tag.left + tag.width - 28} y={tag.top + 20} textAnchor="end">
                {mark.reading === null ? '' : volts(mark.reading)}
              </text>
              <TagSign mark={mark} x={tag.left + tag.width - 22} y={tag.top + 14} />
            </g>
          );
        })}
      </g>
    </svg>
  );
}

function Sign({
  mark,
  at: { x, y },
  chosen,
  placing,
  size,
}: {
  readonly mark: PictureMark;
  readonly at: Place;
  readonly chosen: boolean;
  readonly placing: boolean;
  readonly size: number;
}) {
  if (chosen) {
    return (
      <g className="chosen-sign">
        <path className="chosen-edge" d={`M${x - 14} ${y - 14}h28v28h-28z`} />
        <path className="chosen-line" d={`M${x - 14} ${y - 14}h28v28h-28z`} />
        {placing && <path className="chosen-cross" d={`M${x - 6} ${y}h12M${x} ${y - 6}v12`} />}
      </g>
    );
  }
  if (placing) return <path className="placed-sign" d={`M${x - 5} ${y - 5}h10v10h-10z`} />;
  const read = mark.reading !== null;
  const departs = mark.verdict === 'departs' || mark.verdict === 'doubtful';
  return (
    <g>
      <circle
        className="sign-ground"
        cx={x}
        cy={y}
        r={(read ? 9 : 8) * size}
        strokeDasharray={mark.exact ? undefined : '3 3'}
      />
      {!departs && <circle className="sign-ring" cx={x} cy={y} r={6 * size} />}
      {read && <circle className="sign-dot" cx={x} cy={y} r={(departs ? 5.5 : 3) * size} />}
      {mark.order !== undefined && (
        <g>
          <rect className="order-plate" x={x - 34} y={y - 11} width="22" height="22" />
          <text className="order-text" x={x - 23} y={y + 5.5} textAnchor="middle">
            {mark.order}
          </text>
        </g>
      )}
    </g>
  );
}

function TagSign({ mark, x, y }: { readonly mark: PictureMark; readonly x: number; readonly y: number }) {
  if (mark.verdict === 'doubtful') return <circle className="sign-dot" cx={x + 7} cy={y} r={6} />;
  const right = (mark.reading ?? 0) > (mark.sound?.value ?? 0);
  return (
    <path className="tag-arrow" d={right ? `M${x} ${y - 8}v16l14 -8z` : `M${x + 14} ${y - 8}v16l-14 -8z`} />
  );
}

function Letters({
  grid,
  box,
  area,
  lit,
}: {
  readonly grid: { readonly columns: number; readonly rows: number };
  readonly box: Box;
  readonly area: Box;
  readonly lit: string | undefined;
}) {
  const letters = Array.from({ length: grid.columns }, (_, i) => gridLetter(i));
  const litColumn = lit?.slice(0, 1);
  const litRow = lit?.slice(1);
  const wide = box.width / grid.columns;
  const high = box.height / grid.rows;
  const seenX = (x: number) => x > area.left + 8 && x < area.left + area.width - 8;
  const seenY = (y: number) => y > area.top + 8 && y < area.top + area.height - 8;
  return (
    <g>
      {letters.map((letter, i) => {
        const x = box.left + (i + 0.5) * wide;
        const edge = box.left + i * wide;
        return (
          <g key={letter}>
            {i > 0 && seenX(edge) && <path className="letter-tick" d={`M${edge} ${area.top - 9}v6`} />}
            {seenX(x) && (
              <>
                {letter === litColumn && (
                  <rect className="lit" x={x - 16} y={area.top - 32} width="32" height="28" />
                )}
                <text
                  className={letter === litColumn ? 'edge-letter is-lit' : 'edge-letter'}
                  x={x}
                  y={area.top - 12}
                  textAnchor="middle"
                >
                  {letter}
                </text>
              </>
            )}
          </g>
        );
      })}
      {Array.from({ length: grid.rows }, (_, i) => {
        const y = box.top + (i + 0.5) * high;
        const edge = box.top + i * high;
        const number = String(i + 1);
        const x = area.left - 18;
        return (
          <g key={number}>
            {i > 0 && seenY(edge) && <path className="letter-tick" d={`M${area.left - 9} ${edge}h6`} />}
            {seenY(y) && (
              <>
                {number === litRow && <rect className="lit" x={x - 15} y={y - 16} width="30" height="32" />}
                <text
                  className={number === litRow ? 'edge-letter is-lit' : 'edge-letter'}
                  x={x}
                  y={y + 6}
                  textAnchor="middle"
                >
                  {number}
                </text>
              </>
            )}
          </g>
        );
      })}
    </g>
  );
}

function clipped(box: Box, area: Box): Box {
  const left = Math.max(box.left, area.left);
  const top = Math.max(box.top, area.top);
  return {
    left,
    top,
    width: Math.max(1, Math.min(box.left + box.width, area.left + area.width) - left),
    height: Math.max(1, Math.min(box.top + box.height, area.top + area.height) - top),
  };
}

function tagWidth({ short, reading }: PictureMark): number {
  return (short.length + (reading === null ? 0 : volts(reading).length)) * 9.2 + 52;
}

/** The plate with the name of the chosen mark; smaller on a small picture, which it would hide. */
function nameSize(short: string, signs: number): { readonly width: number; readonly height: number } {
  const size = nameScale(signs);
  return { width: (short.length * 16 + 28) * size, height: 44 * size };
}

function nameScale(signs: number): number {
  return Math.max(0.7, signs);
}
