/**
 * The trial boards: `trialBoard(name)` gives one, `BOARD_NAMES` says which there are. Pure; every board is the
 * same on every call. Which half a board belongs to is fixed with it. The names that begin with MANY are
 * machines of several boards wired together, of some 300 and some 1,000 parts.
 */
import { FRESH } from './fresh.ts';
import { joined } from './join.ts';
import type { TrialBoard } from './kit.ts';
import { TUNING } from './tuning.ts';

export type { Expected, TrialBoard } from './kit.ts';

type Half = TrialBoard['half'];

/** Names of the single boards and of the machines joined from them, by half. */
export const BOARD_NAMES: Record<Half, readonly string[]> = {
  tuning: [...Object.keys(TUNING), 'MANY300A', 'MANY1000A'],
  test: [...Object.keys(FRESH), 'MANY300B', 'MANY1000B'],
};

const made = new Map<string, TrialBoard>();

export function trialBoard(name: string): TrialBoard {
  let board = made.get(name);
  if (board !== undefined) return board;
  const many = /^MANY(\d+)([AB])$/.exec(name);
  if (many !== null) {
    const half: Half = many[2] === 'A' ? 'tuning' : 'test';
    const singles = Object.keys(half === 'tuning' ? TUNING : FRESH).map(trialBoard);
    board = joined(name, half, singles, Number(many[1]), 4);
  } else board = (TUNING[name] ?? FRESH[name])?.();
  if (board === undefined) {
    const names = [...BOARD_NAMES.tuning, ...BOARD_NAMES.test].join(', ');
    throw new RangeError(`no trial board ${name}: it is one of ${names}`);
  }
  made.set(name, board);
  return board;
}
