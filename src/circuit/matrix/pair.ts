import { type CompiledLoops, compiledLoops } from './compiled.ts';
import { SparseLU } from './factor.ts';
import { negativePivots, smallestPivotRatio } from './pivots.ts';
import { type Plan, planFor } from './plan.ts';
import type { Symbolic } from './symbolic.ts';

/** One of the two systems of a pair. */
export type Half = 0 | 1;

/**
 * Two systems of one pattern, factored and solved together in little more time than one `SparseLU` takes, with
 * the same answers to the last bit. Arrays are interleaved: entry or unknown `i` of system `h` is at `2 i + h`.
 */
export class SparseLUPair {
  readonly symbolic: Symbolic;
  /** Both matrices, in the order of the pattern's entries; filled by the caller. */
  readonly values: Float64Array;
  private readonly work: PairWork;

  /** @param loops  the plain ones give the same answers to the last bit, more slowly */
  constructor(symbolic: Symbolic, loops: 'compiled' | 'plain' = 'compiled') {
    const plan = planFor(symbolic, 2);
    const compiled = loops === 'compiled' ? compiledLoops(plan, 2) : undefined;
    this.symbolic = symbolic;
    this.work = compiled ? new TogetherWork(symbolic, plan, compiled) : new SeparateWork(symbolic);
    this.values = this.work.values;
  }

  /**
   * Factors the present `values`, leaving alone what no change since the last call reaches.
   *
   * @returns false when either system has a pivot that is zero or not finite; `regular` tells which
   */
  refactor(): boolean {
    this.work.refactor();
    return this.regular(0) && this.regular(1);
  }

  /** Whether the system's last factorisation succeeded; a failure of one does not touch the other. */
  regular(half: Half): boolean {
    return this.work.regular(half);
  }

  /** Solves both systems; `b` (length 2 n, interleaved) is overwritten. */
  solve(b: Float64Array): void {
    this.work.solve(b, false);
  }

  /** Solves both systems with Aᵀ; `b` (length 2 n, interleaved) is overwritten. */
  solveTransposed(b: Float64Array): void {
    this.work.solve(b, true);
  }

  /** Pivots below zero after `refactor`; an odd number means a negative determinant. */
  negativePivots(half: Half): number {
    return this.work.negativePivots(half);
  }

  /** As for `SparseLU`. */
  smallestPivotRatio(half: Half): number {
    return this.work.smallestPivotRatio(half);
  }
}

interface PairWork {
  readonly values: Float64Array;
  refactor(): void;
  regular(half: Half): boolean;
  solve(b: Float64Array, transposed: boolean): void;
  negativePivots(half: Half): number;
  smallestPivotRatio(half: Half): number;
}

class TogetherWork implements PairWork {
  readonly values: Float64Array;
  private readonly symbolic: Symbolic;
  private readonly plan: Plan;
  private readonly compiled: CompiledLoops;
  private readonly rightSide: Float64Array;

  constructor(symbolic: Symbolic, plan: Plan, compiled: CompiledLoops) {
    this.symbolic = symbolic;
    this.plan = plan;
    this.compiled = compiled;
    this.values = compiled.places.subarray(0, 2 * plan.entries);
    this.rightSide = compiled.places.subarray(2 * plan.rightSide, 2 * plan.check);
    compiled.marks.fill(1);
  }

  refactor(): void {
    this.compiled.refactor();
    if (!this.regular(0) || !this.regular(1)) this.compiled.marks.fill(1);
  }

  regular(half: Half): boolean {
    return Number.isFinite(this.compiled.places[2 * this.plan.check + half]);
  }

  solve(b: Float64Array, transposed: boolean): void {
    this.rightSide.set(b);
    this.compiled.solve(transposed);
    b.set(this.rightSide);
  }

  negativePivots(half: Half): number {
    return negativePivots(this.plan, this.compiled.places, 2, half);
  }

  smallestPivotRatio(half: Half): number {
    return smallestPivotRatio(this.symbolic, this.plan, this.compiled.places, 2, half);
  }
}

/** Without WebAssembly: one system after the other. */
class SeparateWork implements PairWork {
  readonly values: Float64Array;
  private readonly systems: readonly [SparseLU, SparseLU];
  private readonly succeeded: [boolean, boolean] = [false, false];
  private readonly x: Float64Array;

  constructor(symbolic: Symbolic) {
    this.systems = [new SparseLU(symbolic, 'plain'), new SparseLU(symbolic, 'plain')];
    this.values = new Float64Array(2 * symbolic.pattern.column.length);
    this.x = new Float64Array(symbolic.pattern.n);
  }

  refactor(): void {
    for (const half of HALVES) {
      const { values } = this.systems[half];
      for (let e = 0; e < values.length; e++) values[e] = this.values[2 * e + half]!;
      this.succeeded[half] = this.systems[half].refactor();
    }
  }

  regular(half: Half): boolean {
    return this.succeeded[half];
  }

  solve(b: Float64Array, transposed: boolean): void {
    for (const half of HALVES) {
      for (let i = 0; i < this.x.length; i++) this.x[i] = b[2 * i + half]!;
      if (transposed) this.systems[half].solveTransposed(this.x);
      else this.systems[half].solve(this.x);
      for (let i = 0; i < this.x.length; i++) b[2 * i + half] = this.x[i]!;
    }
  }

  negativePivots(half: Half): number {
    return this.systems[half].negativePivots;
  }

  smallestPivotRatio(half: Half): number {
    return this.systems[half].smallestPivotRatio;
  }
}

const HALVES: readonly Half[] = [0, 1];
