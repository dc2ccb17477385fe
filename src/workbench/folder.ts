import {
  boardsOf,
  type Finding,
  formatFindings,
  type Machine,
  type MachinePapers,
  readMachine,
} from '../machine/index.ts';
import { folderFiles, InputError } from '../records/index.ts';
import { capturesOfFolder, capturesOfRecord, withCapturedWaves } from './captured-waves.ts';
import { type RecordedMachine, recordedTables, withMachine } from './recorded-machine.ts';

export interface FolderCheck {
  /** `undefined` when machine.json makes none. */
  readonly machine: Machine | undefined;
  readonly findings: readonly Finding[];
  readonly errors: number;
  readonly warnings: number;
  readonly counts: FolderCounts;
  readonly papers: MachinePapers;
}

export interface FolderCounts {
  readonly boards: number;
  readonly parts: number;
  readonly conditions: number;
  readonly points: number;
  readonly units: number;
  readonly readings: number;
}

export interface OpenFolder {
  readonly machine: Machine;
  /** Doubtful things found; work goes on with them. */
  readonly warnings: number;
}

/** Where a machine lies: in a folder, by its path, or in a record. */
export type MachinePlace = string | RecordedMachine;

/**
 * Reads a machine folder, or a machine of a record, and reports everything that is wrong or doubtful in it.
 *
 * @throws InputError  when there is no such folder or a file of it cannot be read; as `recordedTables` for a record
 */
export async function checkFolder(place: MachinePlace): Promise<FolderCheck> {
  const files = typeof place === 'string' ? await folderFiles(place) : await recordedTables(place);
  const { machine, findings, source, papers } = readMachine(files);
  const read = source.machine;
  return {
    machine,
    findings,
    papers,
    errors: findings.filter(({ severity }) => severity === 'error').length,
    warnings: findings.filter(({ severity }) => severity === 'warning').length,
    counts: {
      boards: boardsOf(read).length,
      parts: read.parts.length,
      conditions: read.conditions.length,
      points: read.points.length,
      units: read.units.length,
      readings: read.readings.length,
    },
  };
}

/**
 * The machine of a folder or a record, for computing: with the samples of the captures that drive it.
 *
 * @throws InputError  `folder` with all findings, one a line, when there is an error among them
 */
export async function openFolder(place: MachinePlace): Promise<OpenFolder> {
  const { machine, findings, errors, warnings, papers } = await checkFolder(place);
  if (machine === undefined || errors > 0) {
    const wrong = findings.filter(({ severity }) => severity === 'error');
    throw new InputError(
      'folder',
      `${typeof place === 'string' ? place : (place.machine ?? place.record)} cannot be worked with until this is mended:\n${formatFindings(wrong)}`,
    );
  }
  const captured = await withCapturedWaves(
    machine,
    typeof place === 'string'
      ? capturesOfFolder(place, papers)
      : (file, channel) =>
          withMachine(place, (record, { id }) => capturesOfRecord(record, id)(file, channel)),
  );
  return { machine: captured, warnings };
}
