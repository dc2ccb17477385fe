import { kernelBytes } from './kernel.ts';
import type { Plan } from './plan.ts';

/** The compiled loops over one plan, with the memory that holds its numbers and tables. */
export interface CompiledLoops {
  readonly places: Float64Array;
  readonly marks: Int32Array;
  /** Leaves its check in the plan's place for it. */
  refactor(): void;
  solve(transposed: boolean): void;
}

/** What is used of the WebAssembly interface; the compiler's own library for it comes with a browser's only. */
interface WebAssemblyInterface {
  Module: new (bytes: Uint8Array<ArrayBuffer>) => object;
  Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer };
  Instance: new (
    module: object,
    imports: { environment: { memory: object } },
  ) => { readonly exports: Record<string, (...words: number[]) => void> };
}

const PAGE = 65536;
const modules = new Map<number, object>();

/**
 * `undefined` where there is no WebAssembly, where a page's policy forbids it, or where it lacks vectors or memory:
 * the plain loops serve then, with the same answers. Compiled at once, not in the background.
 */
export function compiledLoops(plan: Plan, systems: 1 | 2): CompiledLoops | undefined {
  const { WebAssembly } = globalThis as unknown as { WebAssembly?: WebAssemblyInterface };
  if (!WebAssembly || plan.pivots.length === 0) return undefined;
  const bytes = 8 * systems;
  const tables = [plan.factorTable, plan.runs, plan.solveTable];
  let address = Math.ceil((plan.places * bytes) / 16) * 16;
  const starts = tables.map((table) => {
    const start = address;
    address += table.byteLength;
    return start;
  });
  const marksAt = address;
  address += 4 * (plan.subtrees + 1);
  try {
    let module = modules.get(systems);
    if (!module) {
      module = new WebAssembly.Module(kernelBytes(systems));
      modules.set(systems, module);
    }
    const memory = new WebAssembly.Memory({ initial: Math.ceil(address / PAGE) });
    const routines = new WebAssembly.Instance(module, { environment: { memory } }).exports;
    for (const [index, table] of tables.entries()) new Int32Array(memory.buffer, starts[index]).set(table);
    const places = new Float64Array(memory.buffer, 0, plan.places * systems);
    const [factorTable, runs, solveTable] = starts as [number, number, number];
    const runsEnd = runs + plan.runs.byteLength;
    const previous = plan.previous * bytes;
    const factors = plan.factors * bytes;
    const { refactor, solve, solveTransposed } = routines;
    return {
      places,
      marks: new Int32Array(memory.buffer, marksAt, plan.subtrees + 1),
      refactor() {
        places.fill(0, plan.check * systems);
        refactor!(factorTable, marksAt, previous, plan.subtrees, plan.check * bytes);
      },
      solve(transposed) {
        (transposed ? solveTransposed! : solve!)(runs, runsEnd, solveTable, factors);
      },
    };
  } catch {
    return undefined;
  }
}
