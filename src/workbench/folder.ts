import { boardsOf, type Finding, formatFindings, type Machine, readMachine } from '../machine/index.ts';
import { folderFiles, InputError } from '../records/index.ts';

export interface FolderCheck {
  /** `undefined` when machine.json makes none. */
  readonly machine: Machine | undefined;
  readonly findings: readonly Finding[];
  readonly errors: number;
  readonly warnings: number;
  readonly counts: FolderCounts;
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

/**
 * Reads a machine folder and reports everything that is wrong or doubtful in it.
 *
 * @throws InputError  when there is no such folder or a file of it cannot be read
 */
export async function checkFolder(path: string): Promise<FolderCheck> {
  const { machine, findings, source } = readMachine(await folderFiles(path));
  const read = source.machine;
  return {
    machine,
    findings,
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
 * The machine of a folder, for computing.
 *
 * @throws InputError  `folder` with all findings, one a line, when there is an error among them
 */
export async function openFolder(path: string): Promise<OpenFolder> {
  const { machine, findings, errors, warnings } = await checkFolder(path);
  if (machine === undefined || errors > 0) {
    const wrong = findings.filter(({ severity }) => severity === 'error');
    throw new InputError(
      'folder',
      `${path} cannot be worked with until this is mended:\n${formatFindings(wrong)}`,
    );
  }
  return { machine, warnings };
}
