/**
 * The steps from an empty file to the record of today, in order; a record of version n has gone through the first n. A step
 * that has been released is never changed: what comes later is a step of its own. Start with `MIGRATIONS`; it runs nothing.
 */
import * as sheets from './0001-sheets.ts';
import * as placementsOfAUnit from './0002-placements-of-a-unit.ts';
import * as captures from './0003-captures.ts';
import * as runningStates from './0004-running-states.ts';

/** The SQL of each step. */
export const MIGRATIONS: readonly string[] = [sheets.up, placementsOfAUnit.up, captures.up, runningStates.up];
