/**
 * Sparse linear systems of one pattern and many values. Start with `patternOf`, then `symbolicFactor` once for a
 * circuit and a `SparseLU` for each system that is kept, or a `SparseLUPair` for two that go through the same steps.
 * A refactorisation leaves alone what no changed value reaches. Pivots stay on the diagonal, so check the answer with
 * `residual` and take `pivotedSolve` where it is too large. It does not build the matrix and does not iterate.
 */

export { SparseLU } from './factor.ts';
export { minimumDegreeOrder } from './order.ts';
export { type Half, SparseLUPair } from './pair.ts';
export { entryAt, type Pattern, patternOf } from './pattern.ts';
export { pivotedSolve, residual } from './pivoted.ts';
export { type Symbolic, symbolicFactor } from './symbolic.ts';
