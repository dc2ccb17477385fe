import type { FolderContent } from './check.ts';
import { type FindingList, shown } from './finding.ts';
import { suggestion } from './nearest.ts';
import { boardsOf, partNamed, pointNet } from './nets.ts';
import type { SheetContent } from './sheet.ts';
import { LOG, type LogEntry } from './sheets/log.ts';
import { type BoardPhotograph, PHOTOGRAPHS } from './sheets/photographs.ts';
import { PLACEMENTS, type Placement } from './sheets/placements.ts';

interface Papers {
  readonly log: SheetContent<LogEntry>;
  readonly photographs: SheetContent<BoardPhotograph>;
  readonly placements: SheetContent<Placement>;
}

/** Holds log, photographs and placements against the machine. No level is computed from them, so what is astray is doubtful only. */
export function checkPapers(content: FolderContent, papers: Papers, findings: FindingList): void {
  if (!content.headed) return;
  checkLog(content, papers.log, findings);
  const { machine } = content;
  const boards = new Set([...boardsOf(machine), ...(machine.boards ?? []).map(({ name }) => name)]);
  const units = machine.units.map(({ id }) => id);
  const checkBoard = (file: string, row: number, board: string): void => {
    if (boards.has(board)) return;
    const near = findings.explains('unknown-board', file) ? suggestion(board, boards) : '';
    const place = { file, row, column: 'board', found: board };
    findings.warning('unknown-board', place, `there is no board ${shown(board)}${near}`);
  };
  papers.photographs.records.forEach(({ board, unit }, i) => {
    const row = papers.photographs.rows[i]!;
    checkBoard(PHOTOGRAPHS.file, row, board);
    if (unit !== '' && !units.includes(unit)) unknownUnit(PHOTOGRAPHS.file, row, unit, units, findings);
  });
  papers.placements.records.forEach(({ board, mark, unit }, i) => {
    const row = papers.placements.rows[i]!;
    checkBoard(PLACEMENTS.file, row, board);
    if (unit !== '' && !units.includes(unit)) unknownUnit(PLACEMENTS.file, row, unit, units, findings);
    if (pointNet(machine, mark) !== undefined || partNamed(machine, mark) !== undefined) return;
    const place = { file: PLACEMENTS.file, row, column: 'mark', found: mark };
    findings.warning('unknown-point', place, `${shown(mark)} is neither a net, a pin nor a part`);
  });
}

function checkLog({ machine }: FolderContent, log: SheetContent<LogEntry>, findings: FindingList): void {
  const { file } = LOG;
  const units = machine.units.map(({ id }) => id);
  const ids = new Set(log.records.map(({ id }) => id));
  log.records.forEach(({ id, unit, replaces }, i) => {
    const row = log.rows[i]!;
    if (!units.includes(unit)) unknownUnit(file, row, unit, units, findings);
    if (replaces !== '' && (replaces === id || !ids.has(replaces))) {
      const place = { file, row, column: 'replaces', found: replaces };
      findings.warning('unused', place, `there is no other entry ${shown(replaces)} for this one to replace`);
    }
  });
}

function unknownUnit(
  file: string,
  row: number,
  unit: string,
  units: readonly string[],
  findings: FindingList,
): void {
  const near = findings.explains('unknown-unit', file) ? suggestion(unit, units) : '';
  const place = { file, row, column: 'unit', found: unit };
  findings.warning('unknown-unit', place, `unit ${shown(unit)} does not stand in machine.json${near}`);
}
