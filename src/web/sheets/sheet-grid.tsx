/** One sheet of the folder in a grid, with its checks, conflicts and what could not be kept. */

import { useMemo, useRef, useState } from 'react';
import type { FindingView, SheetName } from '../../server/index.ts';
import { api, told } from '../live.ts';
import { columnTitle, columnWidth, columnWords, SHEET_PAGES, type SheetPage } from './columns.ts';
import { Conflicts } from './conflicts.tsx';
import type { SheetRow } from './edit-queue.ts';
import { Grid, type GridColumn, type GridHandle, type GridRow, type GridWrite } from './grid.tsx';
import { cellNotes } from './notes.ts';
import { TroubleList } from './trouble-list.tsx';
import { useSheet } from './use-sheet.ts';
import { pinRows, withNets } from './wiring.ts';

export function SheetGrid({ machine, page }: { readonly machine: string; readonly page: SheetPage }) {
  const sheet: SheetName = page === 'wiring' ? 'parts' : (page as SheetName);
  const { queue, state, view, problem } = useSheet(machine, sheet);
  const [said, say] = useState('');
  const grid = useRef<GridHandle>(null);
  const rows = state.rows;
  const wiring = page === 'wiring';
  const pins = useMemo(() => (wiring ? pinRows(rows) : []), [wiring, rows]);
  const gridRows = useMemo<readonly GridRow[]>(() => {
    if (!wiring)
      return rows.map((row, i) => ({ key: row.key, head: String(i + 2), cells: row.cells, seen: row }));
    return pins.map(({ part, pin, net }, i) => ({
      key: `${part.key} ${pin}`,
      head: String(i + 1),
      cells: {
        part: `${part.cells.board ?? ''}/${part.cells.ref ?? ''}`,
        kind: part.cells.kind ?? '',
        pin,
        net,
      },
      seen: part,
    }));
  }, [wiring, rows, pins]);
  const names = wiring ? ['part', 'kind', 'pin', 'net'] : (view?.columns ?? []);
  const nameList = names.join('\n');
  const ready = view !== undefined;
  // biome-ignore lint/correctness/useExhaustiveDependencies: widths are of what stood there at first, so that nothing moves
  const columns = useMemo<readonly GridColumn[]>(
    () =>
      names.map((name) => ({
        name,
        title: columnTitle(name),
        width: columnWidth(
          columnTitle(name),
          gridRows.length > 0
            ? gridRows.map(({ cells }) => cells[name] ?? '')
            : (view?.rows ?? []).map(({ cells }) => cells[name] ?? ''),
        ),
        fixed: wiring && name !== 'net',
        words: columnWords(page, name),
      })),
    [nameList, ready, gridRows.length > 0, page],
  );
  const findings = view?.findings ?? NO_FINDINGS;
  const notes = useMemo(() => {
    const ofRows = cellNotes(findings, rows);
    if (!wiring) return ofRows;
    return new Map(
      pins.flatMap(({ part, pin }) => {
        const note = ofRows.get(part.key)?.get('pins');
        return note ? [[`${part.key} ${pin}`, new Map([['net', note]])] as const] : [];
      }),
    );
  }, [findings, rows, wiring, pins]);

  if (problem && !view) return <p className="refusal">{problem.message}</p>;
  if (!view) return <p className="label">Reading the sheet</p>;

  const name = SHEET_PAGES[page].name.toLowerCase();
  const write = (writes: readonly GridWrite[], how: 'cell' | 'block' | 'clear'): readonly string[] => {
    if (wiring) return writeNets(writes);
    const what =
      how === 'cell'
        ? cellWords(name, writes[0]!)
        : `${how === 'block' ? 'a block' : 'cells cleared'} in ${name}`;
    return queue.write(
      writes.map(({ row, cells }) => ({ row: row?.seen, cells })),
      what.slice(0, 200),
    );
  };
  const writeNets = (writes: readonly GridWrite[]): readonly string[] => {
    const nets = new Map<SheetRow, Map<string, string>>();
    for (const { row, cells } of writes) {
      if (row?.seen === undefined || cells.net === undefined) continue;
      const ofPart = nets.get(row.seen) ?? new Map<string, string>();
      nets.set(row.seen, ofPart.set(row.cells.pin!, cells.net.replaceAll(/\s+/g, '')));
    }
    const changes = [...nets].map(([row, ofPart]) => {
      return { row, cells: { pins: withNets(row.cells.pins ?? '', ofPart) } };
    });
    const [first] = changes;
    queue.write(
      changes,
      changes.length === 1 ? `wiring of ${first!.row.cells.board}/${first!.row.cells.ref}` : 'wiring',
    );
    return writes.map(({ row }) => row!.key);
  };
  const remove = (from: number, to: number) => {
    const gone = rows.slice(from, to + 1);
    if (gone.length === 0) return;
    queue.remove(gone, `${gone.length === 1 ? 'a row' : `${gone.length} rows`} removed from ${name}`);
    say(
      `${gone.length === 1 ? 'One row' : `${gone.length} rows`} removed. Undo brings ${gone.length === 1 ? 'it' : 'them'} back.`,
    );
  };
  const insert = (below: number) => {
    const [key] = queue.write([{ after: rows[below], cells: {} }], `a row added to ${name}`);
    requestAnimationFrame(() => grid.current?.go(key!, view.columns[0]));
  };
  const undo = async () => {
    await queue.settled();
    const outcome = await told(api.machines[':id'].undo.$post({ param: { id: machine } }));
    say(
      outcome.ok
        ? outcome.value
          ? `Taken back: ${outcome.value.what}`
          : 'There is nothing to take back'
        : `Not taken back: ${outcome.problem.message}`,
    );
  };
  const go = ({ row, column }: FindingView) => {
    const found = rows.find(({ id }) => id === row);
    if (!found) return;
    const pin = wiring ? pins.find(({ part }) => part.key === found.key) : undefined;
    grid.current?.go(pin ? `${found.key} ${pin.pin}` : found.key, wiring ? 'net' : (column ?? undefined));
  };

  return (
    <>
      {state.problem && (
        <div className="not-kept" role="alert">
          <p className="refusal">
            Not kept: {state.problem.message} What you wrote still stands in its cells.
          </p>
          <button type="button" className="button main" onClick={() => queue.retry()}>
            Try again
          </button>
          <button type="button" className="button" onClick={() => queue.giveUp()}>
            Give it up
          </button>
        </div>
      )}
      <Conflicts conflicts={state.conflicts} queue={queue} />
      <TroubleList
        findings={wiring ? findings.filter(({ column }) => column === 'pins') : findings}
        onGo={go}
      />
      <Grid
        handle={grid}
        label={SHEET_PAGES[page].name}
        columns={columns}
        rows={gridRows}
        notes={notes}
        grows={!wiring}
        onWrite={write}
        onUndo={() => void undo()}
        onSay={say}
        {...(wiring ? {} : { onRemove: remove, onInsert: insert })}
      />
      <div className="sheet-foot">
        {!wiring && (
          <>
            <button
              type="button"
              className="button"
              onClick={() => {
                const at = grid.current?.active();
                if (at) insert(Math.min(at.to, rows.length - 1));
              }}
            >
              Add a row below
            </button>
            <button
              type="button"
              className="button"
              onClick={() => {
                const at = grid.current?.active();
                if (at) remove(at.from, at.to);
              }}
            >
              Remove rows
            </button>
          </>
        )}
        <p role="status" className="sheet-said">
          {said}
        </p>
        <p className="label sheet-count">
          {state.waiting > 0 && !state.problem ? 'keeping' : 'kept'}, {gridRows.length}{' '}
          {wiring ? 'pins' : gridRows.length === 1 ? 'row' : 'rows'}
        </p>
      </div>
    </>
  );
}

const NO_FINDINGS: readonly FindingView[] = [];

function cellWords(name: string, { row, cells }: GridWrite): string {
  const [[column, text] = ['', '']] = Object.entries(cells);
  const of = row
    ? Object.values(row.cells)
        .filter((cell) => cell !== '')
        .slice(0, 2)
        .join(' ')
    : 'new row';
  return `${name}, ${of}: ${columnTitle(column)} ${text === '' ? 'cleared' : text}`;
}
