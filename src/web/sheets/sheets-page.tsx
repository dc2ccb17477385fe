/** The sheets of a machine: what is written down of it, in grids. */

import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { api, useLive } from '../live.ts';
import { go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { fileOfPage, SHEET_PAGES, type SheetPage } from './columns.ts';
import { HistorySheet } from './history-sheet.tsx';
import { MachineSheet } from './machine-sheet.tsx';
import { SheetGrid } from './sheet-grid.tsx';
import '../machines/machines.css';
import './sheets.css';

const PAGES = Object.entries(SHEET_PAGES) as [SheetPage, (typeof SHEET_PAGES)[SheetPage]][];
const KEYS = [
  { caps: ['Enter'], does: 'write in the cell, and on downwards', foot: true },
  { caps: ['F2'], does: 'change what stands there' },
  { caps: ['Esc'], does: 'leave it as it was', foot: true },
  { caps: ['Tab'], does: 'on to the right while you write; Esc, then Tab leaves the grid' },
  { caps: ['Shift', 'arrows'], does: 'choose a block' },
  { caps: ['Ctrl', 'C'], does: 'copy it' },
  { caps: ['Ctrl', 'V'], does: 'paste a block', foot: true },
  { caps: ['Delete'], does: 'empty the cells' },
  { caps: ['Ctrl', 'Enter'], does: 'a row below' },
  { caps: ['Ctrl', 'Delete'], does: 'remove the rows' },
  { caps: ['Ctrl', 'Z'], does: 'undo', foot: true },
];

export default function SheetsPage({ at }: PageProps) {
  const id = at.machine!;
  const page = at.sheet && at.sheet in SHEET_PAGES ? (at.sheet as SheetPage) : 'parts';
  const { value: machine, problem } = useLive(api.machines[':id'], { param: { id } });
  const { name, about } = SHEET_PAGES[page];
  const faults = new Map<string, number>();
  for (const { file, severity } of machine?.findings ?? []) {
    if (severity === 'error') faults.set(file, (faults.get(file) ?? 0) + 1);
  }
  const path = (to: string) => `/m/${encodeURIComponent(id)}/sheets/${to}`;
  const wrong = (to: SheetPage) =>
    to === 'wiring' || to === 'history' ? 0 : (faults.get(fileOfPage(to)) ?? 0);
  return (
    <Frame title={name} machine={{ id, name: machine?.name ?? '' }} keys={KEYS} className="sheets-frame">
      <div className="sheets">
        <nav className="sheet-names" aria-label="Sheets">
          {PAGES.map(([key, words]) => (
            <Link key={key} to={path(key)} aria-current={key === page ? 'page' : undefined}>
              {words.name}
              {wrong(key) > 0 && <span className="label">{wrong(key)} wrong</span>}
            </Link>
          ))}
        </nav>
        <div className="sheet-choice">
          <label className="label" htmlFor="sheet-choice">
            Sheet
          </label>
          <select
            id="sheet-choice"
            className="choice"
            value={page}
            onChange={({ target }) => go(path(target.value))}
          >
            {PAGES.map(([key, words]) => (
              <option key={key} value={key}>
                {words.name}
              </option>
            ))}
          </select>
        </div>
        <div className="sheet-main">
          <div className="sheet-title">
            <h1>{name}</h1>
            <p className="prose">{about}</p>
          </div>
          {problem && <p className="refusal">{problem.message}</p>}
          {page === 'machine' ? (
            <MachineSheet key={id} machine={id} />
          ) : page === 'history' ? (
            <HistorySheet key={id} machine={id} />
          ) : (
            <SheetGrid key={`${id} ${page}`} machine={id} page={page} />
          )}
        </div>
      </div>
    </Frame>
  );
}
