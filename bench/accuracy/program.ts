/**
 * The program under trial, behind the two calls that the trials make. This is the only file here that knows
 * anything of the program but its description of a machine.
 */
import {
  type FaultTable,
  faultTable,
  Reckoning,
  type TableShare,
  tableKey,
  tableShare,
} from '../../src/diagnosis/index.ts';
import type { Machine } from '../../src/machine/index.ts';

export interface Suspect {
  /** One part, or two of a double fault, with a mode for each. */
  readonly parts: readonly string[];
  readonly modes: readonly string[];
  readonly probability: number;
}
export interface Answer {
  /** Most probable first. */
  readonly suspects: readonly Suspect[];
  readonly sound: number;
  readonly unexplained: number;
  /** `PART:MODE` of the suspects that no further reading can part, when it says so. */
  readonly group?: readonly string[];
  /** Points where it finds the drawing and not the unit at odds with the readings. */
  readonly drawing: readonly string[];
}
export interface Next {
  readonly condition: string;
  readonly point: string;
  readonly bits: number;
}

const TABLES_KEPT = 4;
const tables = new Map<string, readonly TableShare[]>();
const reckonings = new WeakMap<Machine, Map<string, Reckoning>>();

/** The fault table of a machine: the costly part is kept by what it depends on, the readings come anew. */
function tableOf(machine: Machine): FaultTable {
  const key = tableKey(machine);
  let shares = tables.get(key);
  if (shares === undefined) {
    shares = [tableShare(machine, 0, 1)];
    tables.set(key, shares);
    // Tables are large: drop the one that was made first.
    if (tables.size > TABLES_KEPT) tables.delete(tables.keys().next().value!);
  }
  return faultTable(machine, shares);
}

function reckoning(machine: Machine, unit: string): Reckoning {
  let ofUnits = reckonings.get(machine);
  if (ofUnits === undefined) {
    ofUnits = new Map();
    reckonings.set(machine, ofUnits);
  }
  let found = ofUnits.get(unit);
  if (found === undefined) {
    found = new Reckoning(machine, tableOf(machine), unit);
    ofUnits.set(unit, found);
  }
  return found;
}

/** Ranked suspects of a unit from the readings in the machine. */
export function suspects(machine: Machine, unit: string): Answer {
  const { suspects: list, sound, unexplained, group, drawing } = reckoning(machine, unit).diagnosis();
  return {
    suspects: list,
    sound,
    unexplained,
    drawing: drawing.flatMap((d) => d.points),
    ...(group ? { group } : {}),
  };
}

/** The reading it would take next; `undefined` when it would stop. */
export function nextReading(machine: Machine, unit: string): Next | undefined {
  const subject = reckoning(machine, unit);
  if (subject.diagnosis().group !== undefined) return undefined;
  return subject.next(1)[0];
}
