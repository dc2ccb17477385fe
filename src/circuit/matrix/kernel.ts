import { PAIR, SINGLE } from './arithmetic.ts';
import { moduleOf } from './assembler.ts';
import { refactorRoutine } from './refactor-routine.ts';
import { solveRoutine } from './solve-routine.ts';

/**
 * The loops of `plain.ts` as a WebAssembly module: the same operations on each number in the same order, so that
 * the answers are the same to the last bit. Steps with few later ones, which are nearly all in a circuit, are
 * written out.
 *
 * @param systems  one, or two that are interleaved and go through the halves of vectors
 */
export function kernelBytes(systems: 1 | 2): Uint8Array<ArrayBuffer> {
  const arithmetic = systems === 1 ? SINGLE : PAIR;
  return moduleOf([
    refactorRoutine(arithmetic),
    solveRoutine(arithmetic, false),
    solveRoutine(arithmetic, true),
  ]);
}
