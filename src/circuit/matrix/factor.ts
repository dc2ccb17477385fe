import { type CompiledLoops, compiledLoops } from './compiled.ts';
import { negativePivots, smallestPivotRatio } from './pivots.ts';
import { refactorPlain, solvePlain } from './plain.ts';
import { type Plan, planFor } from './plan.ts';
import type { Symbolic } from './symbolic.ts';

/**
 * LU factors of a matrix with the pattern of `symbolic`, pivots on the diagonal. Fill `values` (pattern order),
 * call `refactor`, then `solve` as often as wanted; nothing is allocated after construction.
 */
export class SparseLU {
  readonly symbolic: Symbolic;
  /** The matrix, in the order of the pattern's entries; filled by the caller. */
  readonly values: Float64Array;
  private readonly plan: Plan;
  /** Which loops serve; `plain` where there is no WebAssembly. */
  readonly loops: 'compiled' | 'plain';
  private readonly compiled: CompiledLoops | undefined;
  private readonly places: Float64Array;
  private readonly marks: Int32Array;
  private readonly rightSide: Float64Array;

  /** @param loops  the plain ones give the same answers to the last bit, more slowly */
  constructor(symbolic: Symbolic, loops: 'compiled' | 'plain' = 'compiled') {
    const plan = planFor(symbolic, 1);
    this.symbolic = symbolic;
    this.plan = plan;
    this.compiled = loops === 'compiled' ? compiledLoops(plan, 1) : undefined;
    this.loops = this.compiled ? 'compiled' : 'plain';
    this.places = this.compiled?.places ?? new Float64Array(plan.places);
    this.marks = this.compiled?.marks ?? new Int32Array(plan.subtrees + 1);
    this.marks.fill(1);
    this.values = this.places.subarray(0, plan.entries);
    this.rightSide = this.places.subarray(plan.rightSide, plan.check);
  }

  /**
   * Factors the present `values`, leaving alone what no change since the last call reaches.
   *
   * @returns false when a pivot is zero or not finite; `solve` has no meaning then
   */
  refactor(): boolean {
    const { plan, places, marks } = this;
    if (this.compiled) this.compiled.refactor();
    else places[plan.check] = refactorPlain(plan, places, marks);
    const regular = Number.isFinite(places[plan.check]);
    if (!regular) marks.fill(1);
    return regular;
  }

  /** Solves A x = b; `b` (length n, original numbering) is overwritten by x. */
  solve(b: Float64Array): void {
    this.substitute(b, false);
  }

  /** Solves Aᵀ x = b; `b` (length n, original numbering) is overwritten by x. */
  solveTransposed(b: Float64Array): void {
    this.substitute(b, true);
  }

  private substitute(b: Float64Array, transposed: boolean): void {
    this.rightSide.set(b);
    if (this.compiled) this.compiled.solve(transposed);
    else solvePlain(this.plan, this.places, transposed);
    b.set(this.rightSide);
  }

  /** Pivots below zero after `refactor`; an odd number means a negative determinant. */
  get negativePivots(): number {
    return negativePivots(this.plan, this.places, 1, 0);
  }

  /**
   * After `refactor`, with `values` left as they were: smallest of |pivot| / largest magnitude in the pivot's row of
   * the matrix. Near 1e-16 the matrix is singular as far as these factors can tell.
   */
  get smallestPivotRatio(): number {
    return smallestPivotRatio(this.symbolic, this.plan, this.places, 1, 0);
  }
}
