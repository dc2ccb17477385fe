/** A row of the grid, and the field that one writes in. */

import { memo, useLayoutEffect, useRef } from 'react';
import type { CellNote, Editing, GridColumn, GridRow } from './grid.tsx';
import { type Range, within } from './moves.ts';

interface RowProps {
  readonly row: GridRow | undefined;
  readonly index: number;
  readonly start: number;
  readonly height: number;
  readonly template: string;
  readonly columns: readonly GridColumn[];
  readonly notes: ReadonlyMap<string, CellNote> | undefined;
  readonly id: string;
  readonly active: number;
  readonly range: Range | undefined;
  readonly editing: Editing | undefined;
  readonly words: readonly string[];
  readonly onText: (text: string) => void;
  readonly onLeave: () => void;
  readonly onPress: (column: number, shift: boolean) => void;
  readonly onOpen: () => void;
}

export const Row = memo(
  function Row(props: RowProps) {
    const { row, index, columns, notes, id, active, range, editing, words } = props;
    const own = notes?.get('');
    return (
      // biome-ignore lint/a11y/useSemanticElements: a table that is virtual and written in is a grid
      <div
        role="row"
        aria-rowindex={index + 2}
        tabIndex={-1}
        className={`grid-row ${active >= 0 ? 'is-active' : ''}`}
        style={{
          gridTemplateColumns: props.template,
          height: props.height,
          transform: `translateY(${props.start}px)`,
        }}
      >
        {/* biome-ignore lint/a11y/useSemanticElements: as above */}
        <div role="rowheader" className={`grid-number ${own ? own.severity : ''}`} tabIndex={-1}>
          {row?.head ?? <span className="aside">new row</span>}
          {own && <span className="aside">, {own.words}</span>}
        </div>
        {columns.map(({ name }, column) => {
          const text = row?.cells[name] ?? '';
          const note = notes?.get(name) ?? (column === 0 ? own : undefined);
          const here = column === active;
          const chosen = range !== undefined && within(range, index, column);
          return (
            // biome-ignore lint/a11y/useSemanticElements: as above
            // biome-ignore lint/a11y/useKeyWithClickEvents: keys are taken by the grid
            <div
              key={name}
              role="gridcell"
              aria-colindex={column + 2}
              aria-selected={chosen}
              aria-invalid={note ? true : undefined}
              aria-describedby={note ? `${id}-${name}` : undefined}
              data-active={here || undefined}
              tabIndex={here ? 0 : -1}
              className={`grid-cell ${note ? note.severity : ''} ${chosen && !here ? 'chosen' : ''}`}
              onClick={(event) => props.onPress(column, event.shiftKey)}
              onDoubleClick={props.onOpen}
            >
              {here && editing ? (
                <Field
                  label={name}
                  text={editing.text}
                  words={words}
                  list={`${id}-words`}
                  onText={props.onText}
                  onLeave={props.onLeave}
                  whole={!editing.quick}
                />
              ) : (
                <span className="grid-text">{text}</span>
              )}
              {note && (
                <span className={here ? 'cell-note' : 'aside'} id={`${id}-${name}`}>
                  {note.severity === 'warning' ? 'Doubtful: ' : ''}
                  {note.words}
                </span>
              )}
            </div>
          );
        })}
      </div>
    );
  },
  (a, b) =>
    a.active < 0 &&
    b.active < 0 &&
    a.row === b.row &&
    a.index === b.index &&
    a.start === b.start &&
    a.height === b.height &&
    a.columns === b.columns &&
    a.notes === b.notes &&
    a.range === undefined &&
    b.range === undefined,
);

function Field({
  label,
  text,
  words,
  list,
  whole,
  onText,
  onLeave,
}: {
  readonly label: string;
  readonly text: string;
  readonly words: readonly string[];
  readonly list: string;
  readonly whole: boolean;
  readonly onText: (text: string) => void;
  readonly onLeave: () => void;
}) {
  const input = useRef<HTMLInputElement>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: once, when one begins to write
  useLayoutEffect(() => {
    input.current?.focus();
    if (whole) input.current?.select();
  }, []);
  return (
    <>
      <input
        ref={input}
        className="grid-field"
        aria-label={label}
        value={text}
        list={words.length > 0 ? list : undefined}
        autoComplete="off"
        spellCheck={false}
        onChange={({ target }) => onText(target.value)}
        onBlur={onLeave}
      />
      {words.length > 0 && (
        <datalist id={list}>
          {words.map((word) => (
            <option key={word} value={word} />
          ))}
        </datalist>
      )}
    </>
  );
}
