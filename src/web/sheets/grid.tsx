/**
 * A grid of cells to write in: arrows, Enter, F2, Escape and Tab as in a spreadsheet, a range by Shift, blocks copied and pasted.
 * What is wrong with a cell stands in words below it while one is there. Only the rows in sight are in the page.
 */

import { defaultRangeExtractor, useVirtualizer } from '@tanstack/react-virtual';
import {
  type ClipboardEvent,
  type KeyboardEvent,
  type Ref,
  useEffect,
  useId,
  useImperativeHandle,
  useLayoutEffect,
  useRef,
  useState,
} from 'react';
import { rem } from '../bench/width.ts';
import { blockOf, laid, textOf } from './block.ts';
import type { SheetRow } from './edit-queue.ts';
import { Row } from './grid-row.tsx';
import { type Cell, moved, type Range, rangeOf, stepped } from './moves.ts';

export interface GridColumn {
  readonly name: string;
  readonly title: string;
  /** rem */
  readonly width: number;
  readonly fixed?: boolean;
  readonly words?: readonly string[];
}

export interface GridRow {
  readonly key: string;
  /** What the row is called at its left end: its number. */
  readonly head: string;
  readonly cells: Readonly<Record<string, string>>;
  /** The row of the record that it was made from; a write hands it back as it was when one began to write. */
  readonly seen?: SheetRow;
}

export interface CellNote {
  readonly severity: 'error' | 'warning';
  readonly words: string;
}

export interface GridWrite {
  /** Place of the row; from the number of rows on, new ones. */
  readonly at: number;
  /** The row as it was when one began to write. */
  readonly row: GridRow | undefined;
  readonly cells: Readonly<Record<string, string>>;
}

export interface GridHandle {
  go(key: string, column: string | undefined): void;
  readonly active: () => { readonly from: number; readonly to: number };
}

export interface GridProps {
  readonly label: string;
  readonly columns: readonly GridColumn[];
  readonly rows: readonly GridRow[];
  /** By row, then by column; the empty column is the row's own. */
  readonly notes?: ReadonlyMap<string, ReadonlyMap<string, CellNote>>;
  /** A row to write a new one into stands last. */
  readonly grows?: boolean;
  /** @returns  the keys of the rows, in order */
  readonly onWrite?: (writes: readonly GridWrite[], how: 'cell' | 'block' | 'clear') => readonly string[];
  readonly onRemove?: (from: number, to: number) => void;
  readonly onInsert?: (below: number) => void;
  readonly onUndo?: () => void;
  readonly onSay?: (words: string) => void;
  readonly handle?: Ref<GridHandle>;
  /** Rows to show at most at once; the grid is no higher. */
  readonly tall?: boolean;
}

export interface Editing {
  readonly text: string;
  /** Began with a letter: arrows then leave the cell. */
  readonly quick: boolean;
  readonly row: GridRow | undefined;
}

const ROW_REM = 2.25;
const TOUCH_REM = 2.75;
const HEAD_REM = 3.5;
const NO_NOTES: ReadonlyMap<string, ReadonlyMap<string, CellNote>> = new Map();
const NEW = 'new';
const NO_WORDS: readonly string[] = [];
/** No row's key: the first row, whatever it is. */
const FIRST = '';

export function Grid(props: GridProps) {
  const { label, columns, rows, notes = NO_NOTES, grows = false, onWrite, tall = true } = props;
  const scroller = useRef<HTMLDivElement>(null);
  const id = useId();
  const [place, setPlace] = useState({ key: FIRST, column: 0 });
  const [from, setFrom] = useState<Cell>();
  const [editing, show] = useState<Editing>();
  /** The same, at once: a field that goes away loses the focus, too, and must not be written twice. */
  const open = useRef<Editing>(undefined);
  const setEditing = (to: Editing | undefined) => {
    open.current = to;
    show(to);
  };
  /** Tab goes on within the grid while one is writing. */
  const [writing, setWriting] = useState(false);
  const wantsFocus = useRef(false);
  /** The focus was in here when it was seen last. */
  const within = useRef(false);
  const touch = useRef(matchMedia('(pointer: coarse)').matches).current;
  const size = (touch ? TOUCH_REM : ROW_REM) * rem();
  const count = rows.length + (grows && onWrite ? 1 : 0);
  const found = place.key === NEW ? rows.length : rows.findIndex(({ key }) => key === place.key);
  const lastPlace = useRef(0);
  const row = found >= 0 && found < count ? found : Math.min(lastPlace.current, Math.max(0, count - 1));
  lastPlace.current = row;
  const active: Cell = { row, column: Math.min(place.column, columns.length - 1) };
  const range: Range = from ? rangeOf(from, active) : rangeOf(active, active);

  const list = useVirtualizer({
    count,
    getScrollElement: () => scroller.current,
    estimateSize: () => size,
    overscan: 10,
    scrollPaddingStart: ROW_REM * rem(),
    // The active row stays in the page, so that the focus is not lost with it.
    rangeExtractor: (visible) =>
      [...new Set([...defaultRangeExtractor(visible), row])].filter((i) => i < count).sort((a, b) => a - b),
  });
  // biome-ignore lint/correctness/useExhaustiveDependencies: sizes change with the setting
  useEffect(() => list.measure(), [size, list]);

  useLayoutEffect(() => {
    // A row that is taken away, by an undo above all, takes the focus with it, and says nothing.
    if (within.current && document.activeElement === document.body) wantsFocus.current = true;
    if (!wantsFocus.current) return;
    const cell = scroller.current?.querySelector<HTMLElement>('[data-active]');
    if (!cell) return;
    wantsFocus.current = false;
    if (editing === undefined) cell.focus({ preventScroll: true });
    cell.scrollIntoView({ block: 'nearest', inline: 'nearest' });
  });

  const keyAt = (at: number) => (at < rows.length ? rows[at]!.key : NEW);
  const goTo = (cell: Cell, extend = false) => {
    setFrom(extend ? (from ?? active) : undefined);
    setPlace({ key: keyAt(cell.row), column: cell.column });
    wantsFocus.current = true;
    list.scrollToIndex(cell.row);
  };
  const extent = () => ({
    rows: count,
    columns: columns.length,
    page: Math.max(1, Math.floor((scroller.current?.clientHeight ?? 400) / size) - 2),
  });
  const writable = (column: number) => onWrite !== undefined && columns[column]?.fixed !== true;
  const cellText = (cell: Cell) => rows[cell.row]?.cells[columns[cell.column]!.name] ?? '';

  const begin = (text: string, quick: boolean) => {
    if (!writable(active.column)) return;
    setFrom(undefined);
    setEditing({ text, quick, row: rows[active.row] });
  };
  const write = (writes: readonly GridWrite[], how: 'cell' | 'block' | 'clear') =>
    onWrite?.(writes, how) ?? [];
  /** Writes what is in the field. @returns  the key of its row */
  const commit = (): string => {
    const done = open.current;
    if (done === undefined) return place.key;
    const { name } = columns[active.column]!;
    const text = done.text.trim();
    setEditing(undefined);
    if (text === (done.row?.cells[name] ?? '')) return place.key;
    const [key] = write([{ at: active.row, row: done.row, cells: { [name]: text } }], 'cell');
    if (key !== undefined && place.key === NEW) setPlace({ key, column: active.column });
    return key ?? place.key;
  };
  const commitAnd = (next: (at: Cell) => Cell | undefined) => {
    const wasNew = active.row >= rows.length;
    const key = commit();
    wantsFocus.current = true;
    const to = next(active);
    if (to === undefined) return;
    if (to.row === active.row) setPlace({ key, column: to.column });
    else if (wasNew && key !== NEW && to.row > active.row) setPlace({ key: NEW, column: to.column });
    else goTo(to);
  };

  const inField = (event: KeyboardEvent) => {
    const { key, shiftKey } = event;
    const big = { ...extent(), rows: count + (active.row >= rows.length ? 1 : 0) };
    if (key === 'Escape') {
      setEditing(undefined);
      wantsFocus.current = true;
    } else if (key === 'Enter') {
      commitAnd((at) => moved(at, shiftKey ? 'ArrowUp' : 'ArrowDown', big));
    } else if (key === 'Tab') {
      setWriting(true);
      commitAnd((at) => stepped(at, shiftKey ? -1 : 1, big));
    } else if (editing?.quick && /^Arrow/.test(key)) {
      commitAnd((at) => moved(at, key, big));
    } else return;
    event.preventDefault();
    event.stopPropagation();
  };

  const onKeyDown = (event: KeyboardEvent) => {
    if (editing !== undefined) {
      inField(event);
      return;
    }
    const { key, shiftKey, altKey } = event;
    const far = event.ctrlKey || event.metaKey;
    if (altKey || !(event.target as HTMLElement).closest('[role=gridcell]')) return;
    const to = moved(active, key, extent(), far);
    const step = key === 'Tab' && writing ? stepped(active, shiftKey ? -1 : 1, extent()) : undefined;
    if (to) goTo(to, shiftKey && /^Arrow|Page/.test(key));
    else if (step) goTo(step);
    else if (key === 'Escape') {
      setWriting(false);
      setFrom(undefined);
    } else if (far && key.toLowerCase() === 'a') {
      setFrom({ row: 0, column: 0 });
      setPlace({ key: keyAt(Math.max(0, rows.length - 1)), column: columns.length - 1 });
    } else if (far && key.toLowerCase() === 'z') props.onUndo?.();
    else if (far && key === 'Enter') props.onInsert?.(active.row);
    else if (far && (key === 'Delete' || key === 'Backspace')) props.onRemove?.(range.top, range.bottom);
    else if (far) return;
    else if (key === 'Enter' || key === 'F2') begin(cellText(active), false);
    else if (key === 'Delete' || key === 'Backspace') clear();
    else if (key.length === 1) begin(key, true);
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  const clear = () => {
    const writes = block((text) => (text === '' ? undefined : ''));
    if (writes.length > 0) write(writes, 'clear');
  };
  /** The cells of the range, each as it is to be; a cell left as it is is not written. */
  const block = (change: (text: string, row: number, column: number) => string | undefined): GridWrite[] => {
    const writes: GridWrite[] = [];
    for (let at = range.top; at <= Math.min(range.bottom, rows.length - 1); at++) {
      const cells: Record<string, string> = {};
      for (let column = range.left; column <= range.right; column++) {
        const text = writable(column) ? change(cellText({ row: at, column }), at, column) : undefined;
        if (text !== undefined) cells[columns[column]!.name] = text;
      }
      if (Object.keys(cells).length > 0) writes.push({ at, row: rows[at], cells });
    }
    return writes;
  };
  const onCopy = (event: ClipboardEvent) => {
    if (editing !== undefined) return;
    const text: string[][] = [];
    for (let at = range.top; at <= range.bottom; at++) {
      text.push(
        columns
          .slice(range.left, range.right + 1)
          .map((_, i) => cellText({ row: at, column: range.left + i })),
      );
    }
    event.clipboardData.setData('text/plain', textOf(text));
    event.preventDefault();
    if (event.type === 'cut') clear();
  };
  const onPaste = (event: ClipboardEvent) => {
    if (editing !== undefined || onWrite === undefined) return;
    event.preventDefault();
    const cells = blockOf(event.clipboardData.getData('text/plain'));
    const single = cells.length === 1 && cells[0]!.length === 1;
    if (single && (range.top < range.bottom || range.left < range.right)) {
      write(
        block(() => cells[0]![0]!),
        'block',
      );
      return;
    }
    const names = columns.filter(({ fixed }) => !fixed).map(({ name }) => name);
    const first = names.indexOf(columns[range.left]!.name);
    if (first < 0) return;
    const put = laid(cells, names, first);
    const fits = grows ? put.rows : put.rows.slice(0, rows.length - range.top);
    const writes = fits
      .map((one, i) => ({ at: range.top + i, row: rows[range.top + i], cells: one }))
      .filter((one) => Object.values(one.cells).some((text) => text !== '') || one.row !== undefined);
    if (writes.length === 0) return;
    const keys = write(writes, 'block');
    setFrom(undefined);
    if (place.key === NEW && keys[0] !== undefined) setPlace({ key: keys[0], column: active.column });
    wantsFocus.current = true;
    const lost = put.left + (put.rows.length - fits.length);
    props.onSay?.(
      `${writes.length === 1 ? 'One row' : `${writes.length} rows`} pasted${put.headed ? ', laid by their headings' : ''}.` +
        (lost > 0 ? ` ${lost} ${lost === 1 ? 'cell' : 'cells'} found no place.` : ''),
    );
  };

  useImperativeHandle(props.handle, () => ({
    go: (key, name) => {
      const at = rows.findIndex((one) => one.key === key);
      const column = columns.findIndex((one) => one.name === name);
      if (at >= 0) goTo({ row: at, column: Math.max(0, column) });
    },
    active: () => ({ from: range.top, to: range.bottom }),
  }));

  const template = `${HEAD_REM}rem ${columns.map(({ width }) => `${width}rem`).join(' ')}`;
  const across = columns.reduce((sum, { width }) => sum + width, HEAD_REM);
  return (
    // biome-ignore lint/a11y/useSemanticElements: a table that is virtual and written in is a grid
    <div
      className={`grid-box ${tall ? 'tall' : ''}`}
      ref={scroller}
      role="grid"
      aria-label={label}
      aria-rowcount={count + 1}
      aria-colcount={columns.length + 1}
      aria-multiselectable="true"
      aria-readonly={onWrite === undefined}
      tabIndex={-1}
      onFocus={() => {
        within.current = true;
      }}
      onBlur={() => {
        within.current = false;
      }}
      onKeyDown={onKeyDown}
      onCopy={onCopy}
      onCut={onCopy}
      onPaste={onPaste}
    >
      {/* biome-ignore lint/a11y/useSemanticElements: as above */}
      <div role="rowgroup" className="grid-head" style={{ width: `${across}rem` }}>
        {/* biome-ignore lint/a11y/useSemanticElements: as above */}
        <div
          role="row"
          aria-rowindex={1}
          className="grid-row"
          style={{ gridTemplateColumns: template }}
          tabIndex={-1}
        >
          {/* biome-ignore lint/a11y/useSemanticElements: as above */}
          <div role="columnheader" className="grid-number" tabIndex={-1}>
            row
          </div>
          {columns.map(({ name, title }) => (
            // biome-ignore lint/a11y/useSemanticElements: as above
            <div key={name} role="columnheader" tabIndex={-1}>
              {title}
            </div>
          ))}
        </div>
      </div>
      {/* biome-ignore lint/a11y/useSemanticElements: as above */}
      <div
        role="rowgroup"
        className="grid-body"
        style={{ height: list.getTotalSize(), width: `${across}rem` }}
      >
        {list.getVirtualItems().map(({ index, start, size: height }) => {
          const one = rows[index];
          const here = index === active.row;
          return (
            <Row
              key={one?.key ?? NEW}
              row={one}
              index={index}
              start={start}
              height={height}
              template={template}
              columns={columns}
              notes={one && notes.get(one.key)}
              id={`${id}${one?.key ?? NEW}`}
              active={here ? active.column : -1}
              range={index >= range.top && index <= range.bottom ? range : undefined}
              editing={here ? editing : undefined}
              words={here ? (columns[active.column]?.words ?? NO_WORDS) : NO_WORDS}
              onText={(text) => editing && setEditing({ ...editing, text })}
              onLeave={commit}
              onPress={(column, shift) => {
                if (here && column === active.column && editing !== undefined) return;
                if (editing !== undefined) commit();
                goTo({ row: index, column }, shift);
              }}
              onOpen={() => begin(cellText(active), false)}
            />
          );
        })}
      </div>
    </div>
  );
}
