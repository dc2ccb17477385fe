import type { Machine } from '../machine/index.ts';
import type { MachineEntry } from '../records/index.ts';
import { ReckonerThread } from './reckoner-thread.ts';

/** A reckoner's thread, and which machines it holds in which revision. */
export class MachineThread {
  readonly thread = new ReckonerThread();
  readonly #most: number;
  readonly #held = new Map<
    number,
    { readonly generation: number; readonly revision: number; readonly wiring: number }
  >();

  /** @param most  machines that are held at once */
  constructor(most: number) {
    this.#most = most;
  }

  /**
   * Sees to it that the thread holds this revision of a machine; where its circuit is the same as before, only the readings go over.
   * Nothing is waited for, since calls arrive in their order: a call right after this one is of this revision, and is not behind what
   * others ask for meanwhile.
   *
   * @param busy  machines that must not be forgotten to make room
   * @returns the machines whose tables are gone: this one when it is new there or its circuit another one, and those forgotten
   */
  hold(
    { id, revision, wiring }: MachineEntry,
    machine: Machine,
    busy: (id: number) => boolean,
  ): readonly number[] {
    const last = this.#held.get(id);
    const there = last?.generation === this.thread.generation;
    // Put last: the map's order is the order of use.
    this.#held.delete(id);
    if (there && last.revision === revision) {
      this.#held.set(id, last);
      return [];
    }
    const same = there && last.wiring === wiring;
    this.#tell(
      same
        ? this.thread.call('holdReadings', id, machine.readings, machine.repairs)
        : this.thread.call('hold', id, machine),
    );
    // The first call starts the thread, and with it a generation.
    this.#held.set(id, { generation: this.thread.generation, revision, wiring });
    const gone = same ? [] : [id];
    for (const other of [...this.#held.keys()].slice(0, -1)) {
      if (this.#held.size <= this.#most) break;
      if (busy(other)) continue;
      this.#held.delete(other);
      gone.push(other);
      this.#tell(this.thread.call('forget', other));
    }
    return gone;
  }

  /** A thread that is lost loses what it was told; whoever asks it for something hears of that. */
  #tell(told: Promise<void>): void {
    told.catch(() => {});
  }
}
