/** Every point of the board as a row, in signal order; only the rows in sight are in the page. */

import { useVirtualizer } from '@tanstack/react-virtual';
import { memo, useEffect, useRef } from 'react';
import type { BenchRow } from '../../server/index.ts';
import { VerdictMark } from '../marks.tsx';
import {
  type Axis,
  Scale,
  Strip,
  type StripInput,
  spreads,
  stripWords,
  Uprights,
  verdictOf,
  volts,
} from '../strip/index.ts';
import type { Item } from './rows.ts';
import { rem, useWidth } from './width.ts';
import './column.css';

export interface ColumnProps {
  readonly items: readonly Item[];
  readonly axes: readonly Axis[];
  readonly unit: string;
  readonly healthy: readonly string[];
  /** The row that stands enlarged in the head. */
  readonly wanted: string | undefined;
  readonly marks: ReadonlyMap<string, number>;
  /** What the chosen fault would show, by point. */
  readonly pointers: ReadonlyMap<string, number> | undefined;
  readonly empty: boolean;
  /** The answer is on its way. */
  readonly soon: boolean;
  readonly onChoose: (point: string) => void;
}

const HEIGHTS = { row: 25, group: 21, scale: 48 };
const TALL_ROW = 32;
/** Rows that stay in sight before and after the wanted one. */
const CONTEXT = 3;

export function Column({
  items,
  axes,
  unit,
  healthy,
  wanted,
  marks,
  pointers,
  empty,
  soon,
  onChoose,
}: ColumnProps) {
  const scroller = useRef<HTMLDivElement>(null);
  const cell = useRef<HTMLSpanElement>(null);
  const width = useWidth(cell, 520);
  // Room for a finger, and on a narrow page for a long name in two lines.
  const tall = useRef(matchMedia('(pointer: coarse), (max-width: 43.74em)').matches).current;
  const heightOf = (item: Item | undefined): number =>
    item?.kind === 'row' ? (tall ? TALL_ROW : HEIGHTS.row) : HEIGHTS[item?.kind ?? 'row'];
  const scale = rem() / 16;
  const list = useVirtualizer({
    count: items.length,
    getScrollElement: () => scroller.current,
    estimateSize: (i) => heightOf(items[i]) * scale,
    overscan: 12,
    scrollPaddingStart: CONTEXT * HEIGHTS.row * scale,
    scrollPaddingEnd: CONTEXT * HEIGHTS.row * scale,
  });
  // biome-ignore lint/correctness/useExhaustiveDependencies: sizes change with the setting and with what the items are
  useEffect(() => list.measure(), [scale, items, list]);

  const place = items.findIndex((item) => item.kind === 'row' && item.point.point === wanted);
  const shown = useRef(false);
  useEffect(() => {
    if (place < 0) return;
    // At first the stage of the wanted point stands at the top; later it is only brought into sight.
    list.scrollToIndex(place, { align: shown.current ? 'auto' : 'center' });
    shown.current = true;
  }, [place, list]);
  const box = place < 0 ? undefined : list.measurementsCache[place];

  return (
    <section className="column" aria-label="Points in signal order">
      <div className="column-head label" aria-hidden="true">
        <span className="cell-strip" ref={cell} />
        <span className="cell-healthy">{healthy[0] ?? ''}</span>
        <span className="cell-own">{unit}</span>
        <span className="cell-off">
          spreads<span className="off-word"> off</span>
        </span>
      </div>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by the keyboard */}
      <div className="rows" ref={scroller} tabIndex={0}>
        {box && (
          <div className="wanted-box" style={{ height: box.size, transform: `translateY(${box.start}px)` }} />
        )}
        <ul className="rows-inner" style={{ height: list.getTotalSize() }}>
          {list.getVirtualItems().map(({ key, index, start, size }) => {
            const item = items[index]!;
            const style = { height: size, transform: `translateY(${start}px)` };
            if (item.kind === 'scale') {
              return (
                <li key={key} className="item scale-item" style={style}>
                  <span className="cell-strip">
                    <Scale axis={axes[item.family]!} width={width} />
                  </span>
                </li>
              );
            }
            if (item.kind === 'group') {
              return (
                <li key={key} className="item group-item" style={style}>
                  <span className="label">{item.text}</span>
                  <span className="cell-strip">
                    <svg className="strip" viewBox={`0 0 ${width} ${HEIGHTS.group}`} aria-hidden="true">
                      <Uprights axis={axes[item.family]!} width={width} from={0} to={HEIGHTS.group} />
                    </svg>
                  </span>
                </li>
              );
            }
            const { point } = item.point;
            return (
              <Row
                key={key}
                item={item}
                start={start}
                size={size}
                axis={axes[item.point.family]!}
                width={width}
                height={heightOf(item)}
                unit={unit}
                healthy={healthy}
                wanted={point === wanted}
                mark={marks.get(point)}
                pointer={pointers?.get(point)}
                empty={empty}
                soon={soon}
                onChoose={onChoose}
              />
            );
          })}
        </ul>
      </div>
    </section>
  );
}

/** Where a long name goes on in a second line, if it must. */
const LAST_PART = /[^./]+$/;

interface RowProps {
  readonly item: Item & { kind: 'row' };
  readonly start: number;
  readonly size: number;
  readonly axis: Axis;
  readonly width: number;
  readonly height: number;
  readonly unit: string;
  readonly healthy: readonly string[];
  readonly wanted: boolean;
  readonly mark: number | undefined;
  readonly pointer: number | undefined;
  readonly empty: boolean;
  readonly soon: boolean;
  readonly onChoose: (point: string) => void;
}

const Row = memo(function Row(props: RowProps) {
  const { item, start, size, axis, width, height, unit, healthy, wanted, mark, empty, soon } = props;
  const { row, name } = item;
  const { point } = item.point;
  const input = rowInput(row, healthy, props.pointer);
  const off = row.off;
  const departs = row.verdict === 'departs' && !row.reading?.setAside;
  const first = input.healthy?.[0];
  return (
    <li
      className={`item ${wanted ? 'is-wanted' : ''}`}
      style={{ height: size, transform: `translateY(${start}px)` }}
    >
      <button
        type="button"
        tabIndex={-1}
        className="row-button"
        aria-current={wanted ? 'true' : undefined}
        aria-label={
          (soon
            ? `${point}, reckoning.`
            : stripWords(input, { point, unit, healthy: ringNames(row, healthy) })) +
          (mark ? ` Asked for as number ${mark}.` : '')
        }
        onClick={() => props.onChoose(point)}
      >
        <span className="cell-mark">
          {mark && <span className={`order ${mark === 1 ? 'first' : ''}`}>{mark}</span>}
        </span>
        <span className={`cell-name ${name.length > 11 ? 'long' : ''}`}>
          {name.length > 11 ? name.replace(LAST_PART, '\u200b$&') : name}
        </span>
        <span className="cell-strip">
          <Strip input={input} axis={axis} width={width} height={height} empty={empty} />
        </span>
        <span className="cell-healthy">{first === undefined ? '' : volts(first)}</span>
        <span className={`cell-own ${departs ? 'departs' : ''} ${row.reading ? '' : 'unread'}`}>
          {row.reading ? volts(row.reading.value) : soon ? '' : '· · ·'}
        </span>
        <span className={`cell-off ${off !== null && verdictOf(off) !== 'sound' ? 'departs' : ''}`}>
          {row.reading?.setAside ? 'set aside' : off === null ? '' : <Off off={off} />}
        </span>
      </button>
    </li>
  );
});

function Off({ off }: { readonly off: number }) {
  return (
    <>
      {spreads(off)} <VerdictMark verdict={verdictOf(off)} toward={off < 0 ? 'left' : 'right'} size={0.85} />
    </>
  );
}

/** Healthy units that have a ring, in the order of the rings. */
export function ringNames(row: BenchRow, healthy: readonly string[]): string[] {
  return healthy.filter((unit) => row.twins.some((twin) => twin.unit === unit));
}

/** What a row of the answer says, as the strip takes it. */
export function rowInput(row: BenchRow, healthy: readonly string[], pointer: number | undefined): StripInput {
  return {
    sound: row.sound,
    learnt: row.learnt,
    drawing: row.drawing,
    healthy: healthy.flatMap((unit) =>
      row.twins.filter((twin) => twin.unit === unit).map(({ value }) => value),
    ),
    reading: row.reading?.value ?? null,
    setAside: row.reading?.setAside ?? false,
    pointer: pointer ?? null,
  };
}
