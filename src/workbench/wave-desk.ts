import { isRunning, type Machine } from '../machine/index.ts';
import { InputError, type MachineEntry } from '../records/index.ts';
import { MachineThread } from './machine-thread.ts';
import type { PredictedWaves, WaveQuery } from './waves.ts';

/** A machine's waveforms take some megabytes. */
const MOST_KEPT = 16;
const MOST_HELD = 3;

/**
 * Predicted waveforms, each computed once and kept. In a thread that computes nothing else and one thing at a time, so that it can be
 * ended when nobody waits for what it computes: a circuit that is followed cannot be called back.
 */
export class WaveDesk {
  readonly #machines = new MachineThread(MOST_HELD);
  readonly #kept = new Map<string, PredictedWaves>();
  #last: Promise<unknown> = Promise.resolve();

  async close(): Promise<void> {
    await this.#machines.thread.close();
  }

  /**
   * @param signal  nobody waits for it any longer
   * @throws InputError  as `predictedWaves`; `stopped` after the signal
   */
  async waves(
    entry: MachineEntry,
    machine: Machine,
    query: WaveQuery,
    signal: AbortSignal,
  ): Promise<PredictedWaves> {
    const key = JSON.stringify([entry.id, version(entry, machine), query]);
    const turn = this.#last.then(() => this.#computed(key, entry, machine, query, signal));
    this.#last = turn.catch(() => {});
    return turn;
  }

  async #computed(
    key: string,
    entry: MachineEntry,
    machine: Machine,
    query: WaveQuery,
    signal: AbortSignal,
  ): Promise<PredictedWaves> {
    if (signal.aborted) throw stopped();
    const known = this.#kept.get(key);
    if (known !== undefined) return known;
    const { thread } = this.#machines;
    this.#machines.hold(entry, machine, () => false);
    const end = (): void => void thread.close();
    signal.addEventListener('abort', end, { once: true });
    try {
      const found = await thread.call('waves', entry.id, query);
      this.#kept.set(key, found);
      for (const old of [...this.#kept.keys()].slice(0, -MOST_KEPT)) this.#kept.delete(old);
      return found;
    } catch (error) {
      throw signal.aborted ? stopped() : error;
    } finally {
      signal.removeEventListener('abort', end);
    }
  }
}

function stopped(): InputError {
  return new InputError('stopped', 'nobody waited for these waveforms');
}

/** What they depend on: not on readings; on all of the record where captures drive. */
function version({ wiring, revision }: MachineEntry, { conditions }: Machine): number {
  const captured = conditions.some(
    (one) =>
      isRunning(one) && one.drives.some(({ wave }) => ['samples', 'capture'].includes(wave?.kind ?? '')),
  );
  return captured ? revision : wiring;
}
