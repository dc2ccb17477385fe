import type { FolderContent } from './check.ts';
import { type FindingList, shown } from './finding.ts';
import { suggestion } from './nearest.ts';
import { boardsOf, partNamed, pointNet } from './nets.ts';
import type { SheetContent } from './sheet.ts';
import {
  CAPTURE_CHANNELS,
  CAPTURES,
  type CaptureChannelRow,
  type MachineCapture,
} from './sheets/captures.ts';
import { CONDITIONS } from './sheets/conditions.ts';
import { LOG, type LogEntry } from './sheets/log.ts';
import { type BoardPhotograph, PHOTOGRAPHS } from './sheets/photographs.ts';
import { PLACEMENTS, type Placement } from './sheets/placements.ts';

interface Papers {
  readonly log: SheetContent<LogEntry>;
  readonly photographs: SheetContent<BoardPhotograph>;
  readonly placements: SheetContent<Placement>;
  readonly captures: SheetContent<MachineCapture>;
  readonly captureChannels: SheetContent<CaptureChannelRow>;
}

/** Holds log, photographs, placements and captures against the machine. No level is computed from them, so what is astray is doubtful only. */
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
  checkCaptures(content, papers, findings);
}

function checkCaptures({ machine, conditions }: FolderContent, papers: Papers, findings: FindingList): void {
  const units = machine.units.map(({ id }) => id);
  const states = machine.conditions.map(({ name }) => name);
  const files = new Set(papers.captures.records.map(({ file }) => file));
  conditions.records.forEach(({ wave }, i) => {
    if (wave?.kind !== 'capture' || files.has(wave.file)) return;
    const place = { file: CONDITIONS.file, row: conditions.rows[i]!, column: 'wave', found: wave.file };
    const near = findings.explains('bad-wave', CONDITIONS.file) ? suggestion(wave.file, files) : '';
    findings.error(
      'bad-wave',
      place,
      `captures.csv has no row ${shown(wave.file)}${near}; put it there, or mend the name`,
    );
  });
  papers.captures.records.forEach(({ unit, condition }, i) => {
    const { file } = CAPTURES;
    const row = papers.captures.rows[i]!;
    if (unit !== '' && !units.includes(unit)) unknownUnit(file, row, unit, units, findings);
    if (condition === '' || states.includes(condition)) return;
    const near = findings.explains('unknown-condition', file) ? suggestion(condition, states) : '';
    const place = { file, row, column: 'condition', found: condition };
    findings.warning('unknown-condition', place, `there is no condition ${shown(condition)}${near}`);
  });
  papers.captureChannels.records.forEach((channel, i) => {
    const { file } = CAPTURE_CHANNELS;
    const row = papers.captureChannels.rows[i]!;
    if (!files.has(channel.file)) {
      const near = findings.explains('unused', file) ? suggestion(channel.file, files) : '';
      const place = { file, row, column: 'file', found: channel.file };
      findings.warning('unused', place, `captures.csv has no row ${shown(channel.file)}${near}`);
    }
    if (channel.point === '' || pointNet(machine, channel.point) !== undefined) return;
    const place = { file, row, column: 'point', found: channel.point };
    findings.warning('unknown-point', place, `${shown(channel.point)} is neither a net nor a pin`);
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
