import { BUILT_IN_TYPES } from './built-in-types.ts';
import { checkFolder, type FolderContent } from './check.ts';
import { checkPapers } from './check-papers.ts';
import { type Finding, FindingList } from './finding.ts';
import { MACHINE_JSON, type MachineHead, type MachineJson, machineJson } from './machine-json.ts';
import type { Machine, Part } from './model.ts';
import { nearest } from './nearest.ts';
import { defaultPoints } from './nets.ts';
import { NO_CONTENT, type Sheet, type SheetContent, sheetContent } from './sheet.ts';
import { BOARDS } from './sheets/boards.ts';
import {
  CAPTURE_CHANNELS,
  CAPTURES,
  type CaptureChannelRow,
  type MachineCapture,
} from './sheets/captures.ts';
import { CONDITIONS, type ConditionRow, conditionsOf } from './sheets/conditions.ts';
import { FLOW } from './sheets/flow.ts';
import { LOG, type LogEntry, repairsOf } from './sheets/log.ts';
import { PARTS } from './sheets/parts.ts';
import { type BoardPhotograph, PHOTOGRAPHS } from './sheets/photographs.ts';
import { PLACEMENTS, type Placement } from './sheets/placements.ts';
import { POINTS } from './sheets/points.ts';
import { READINGS } from './sheets/readings.ts';
import { STATES } from './sheets/states.ts';
import { TYPES } from './sheets/types.ts';
import { fileText } from './text.ts';

/** What was read of a folder, kept so that it can be written back without loss. */
export interface MachineSource {
  readonly machine: Machine;
  /** The texts of the files that could be read, by name. */
  readonly texts: ReadonlyMap<string, string>;
  /** The names of those that were refused as a whole. */
  readonly refused: ReadonlySet<string>;
  readonly json: MachineJson | undefined;
  readonly sheets: ReadonlyMap<string, SheetContent<unknown>>;
}

/** A machine folder, read. */
export interface MachineDocument {
  /**
   * The machine as far as it could be read. With an error among the findings it is good for showing, not for
   * computing. `undefined` when machine.json makes none.
   */
  readonly machine: Machine | undefined;
  readonly findings: readonly Finding[];
  readonly papers: MachinePapers;
  readonly source: MachineSource;
}

/** What a folder keeps beside the machine itself. Of all this only the parts changed count, as the machine's `repairs`. */
export interface MachinePapers {
  readonly log: readonly LogEntry[];
  readonly photographs: readonly BoardPhotograph[];
  readonly placements: readonly Placement[];
  readonly captures: readonly MachineCapture[];
  readonly captureChannels: readonly CaptureChannelRow[];
}

/** The files of a machine folder; all others are left alone, those in `photographs/` and `captures/` among them. */
export const MACHINE_FILES: readonly string[] = [
  MACHINE_JSON,
  ...[PARTS, TYPES, CONDITIONS, POINTS, READINGS, FLOW].map(({ file }) => file),
  ...[STATES, BOARDS, LOG, PHOTOGRAPHS, PLACEMENTS, CAPTURES, CAPTURE_CHANNELS].map(({ file }) => file),
];

/** Stands in for machine.json while the tables of a folder without a good one are checked. */
const NO_HEAD: MachineHead = {
  name: '',
  summary: '',
  reference: '',
  ambient: 22,
  rails: [],
  units: [],
  instruments: [],
};

/**
 * Reads and checks a machine folder.
 *
 * @param files  bytes by file name; files that do not belong to the format are not looked at
 * @returns the machine and everything that is wrong or doubtful, file by file and row by row; never throws for what a
 *   file holds
 */
export function readMachine(files: ReadonlyMap<string, Uint8Array>): MachineDocument {
  const findings = new FindingList();
  const texts = new Map<string, string>();
  const refused = new Set<string>();
  /** Decodes a file and reads it; a text that nothing is read from is let go at once, since it may be large. */
  const open = <T>(file: string, read: (text: string) => T | undefined): T | undefined => {
    const bytes = files.get(file);
    const text = bytes === undefined ? undefined : fileText(file, bytes, findings);
    const content = text === undefined ? undefined : read(text);
    if (content !== undefined) texts.set(file, text!);
    else if (bytes !== undefined) refused.add(file);
    return content;
  };
  reportMissing(files, findings);

  const json = open(MACHINE_JSON, (text) => machineJson(text, findings));
  const sheets = new Map<string, SheetContent<unknown>>();
  const table = <R>(sheet: Sheet<R>): SheetContent<R> => {
    const content = open(sheet.file, (text) => sheetContent(sheet, text, findings)) ?? NO_CONTENT;
    sheets.set(sheet.file, content);
    return content;
  };
  const parts = table<Part>(PARTS);
  const types = table(TYPES);
  const conditions = table<ConditionRow>(CONDITIONS);
  const points = table(POINTS);
  const readings = table(READINGS);
  const flow = table(FLOW);
  const states = table(STATES);
  const boards = table(BOARDS);
  const log = table(LOG);
  const photographs = table(PHOTOGRAPHS);
  const placements = table(PLACEMENTS);
  const captures = table(CAPTURES);
  const captureChannels = table(CAPTURE_CHANNELS);

  const wired = {
    ...(json?.head ?? NO_HEAD),
    parts: parts.records,
    types: new Map([...BUILT_IN_TYPES, ...types.records.map((type) => [type.type, type] as const)]),
    conditions: conditionsOf(conditions.records, states.records),
    readings: readings.records,
    flow: flow.records,
  };
  const repairs = repairsOf(log.records);
  const machine: Machine = {
    ...wired,
    points: files.has(POINTS.file) ? points.records : defaultPoints(wired),
    ...(boards.records.length > 0 ? { boards: boards.records } : {}),
    ...(repairs.length > 0 ? { repairs } : {}),
  };
  const content: FolderContent = {
    machine,
    headed: json?.head !== undefined,
    parts,
    conditions,
    points,
    readings,
    flow,
    states,
    boards,
  };
  checkFolder(content, new Set(files.keys()), findings);
  checkPapers(content, { log, photographs, placements, captures, captureChannels }, findings);
  return {
    machine: json?.head === undefined ? undefined : machine,
    findings: findings.all(),
    papers: {
      log: log.records,
      photographs: photographs.records,
      placements: placements.records,
      captures: captures.records,
      captureChannels: captureChannels.records,
    },
    source: { machine, texts, refused, json, sheets },
  };
}

function reportMissing(files: ReadonlyMap<string, Uint8Array>, findings: FindingList): void {
  const others = [...files.keys()].filter((name) => !MACHINE_FILES.includes(name));
  for (const file of MACHINE_FILES.filter((name) => !files.has(name))) {
    const meant = nearest(file, others)[0];
    if (meant !== undefined) {
      findings.warning(
        'file-missing',
        { file },
        `there is no ${file}, but a ${meant}, which is not read; rename it if it is meant`,
      );
    }
  }
  if (!files.has(MACHINE_JSON)) {
    findings.error(
      'file-missing',
      { file: MACHINE_JSON },
      'not in the folder; it names the reference net, the rails and the units',
    );
  }
  if (!files.has(PARTS.file) && !files.has(FLOW.file)) {
    findings.error(
      'file-missing',
      { file: PARTS.file },
      'not in the folder, and no flow.csv either; list the parts, or the connectors of boards that are not traced',
    );
  }
}
