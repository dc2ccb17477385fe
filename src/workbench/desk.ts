import { createHash } from 'node:crypto';
import { type Departure, tableKey, type UnitLevels } from '../diagnosis/index.ts';
import { type Finding, isRunning, type Machine, type Reading, readMachine } from '../machine/index.ts';
import { InputError, type MachineEntry, type WorkshopRecord } from '../records/index.ts';
import { capturesOfRecord, withCapturedWaves } from './captured-waves.ts';
import type { WhatIf } from './levels.ts';
import { MachineThread } from './machine-thread.ts';
import type { UnitAnswer } from './reckoner.ts';
import { isReadRunning } from './suspects.ts';
import { WaveDesk } from './wave-desk.ts';
import type { PredictedWaves, WaveQuery } from './waves.ts';

/** How far a machine's fault table is. */
export interface TableState {
  readonly state: 'none' | 'working' | 'ready' | 'failed';
  /** Solves. Where it is ready, those of the states that run, which are still being worked out. */
  readonly done: number;
  readonly total: number;
  /** Why there is none; empty while all is well. */
  readonly message: string;
}

/** A machine of the record as it stands. */
export interface DeskMachine {
  readonly entry: MachineEntry;
  /** `undefined` when machine.json makes none. */
  readonly machine: Machine | undefined;
  readonly findings: readonly Finding[];
  /** Whether there are errors among the findings: then it is good for showing, not for computing. */
  readonly errors: number;
}

export interface DeskOptions {
  /** Stands in the key of every fault table that is kept; without it none is kept. */
  readonly mark: string | undefined;
  readonly onTable: (id: number, state: TableState) => void;
}

interface Place {
  machine: Promise<DeskMachine> | undefined;
  revision: number;
  table: TableState;
  /** Key of the table that is ready or being computed. */
  tableKey: string;
  /** Key of the table that a revision needs: it is asked for more often than it changes. */
  wanted: { readonly revision: number; readonly key: string };
  stop: AbortController | undefined;
  /** By unit, with the revision that it is of. */
  readonly answers: Map<string, { readonly revision: number; readonly answer: UnitAnswer }>;
}

const NO_TABLE: TableState = { state: 'none', done: 0, total: 0, message: '' };
/** A machine with its table takes some 20 MB in the thread. */
const MOST_HELD = 6;

/**
 * The machines that people work on: each read once for each of its revisions, its fault table computed in the background, its
 * answers kept. Nothing here changes the record, but that tables are kept in it.
 */
export class Desk {
  readonly #record: WorkshopRecord;
  readonly #options: DeskOptions;
  /** Suspects, with the fault tables. */
  readonly #reckoning = new MachineThread(MOST_HELD);
  /** What needs no table, and must not wait for a long reckoning: levels above all. */
  readonly #levels = new MachineThread(MOST_HELD);
  readonly #waves = new WaveDesk();
  readonly #places = new Map<number, Place>();

  constructor(record: WorkshopRecord, options: DeskOptions) {
    this.#record = record;
    this.#options = options;
  }

  async close(): Promise<void> {
    for (const place of this.#places.values()) place.stop?.abort(new Error('stopped'));
    await Promise.all([this.#reckoning.thread.close(), this.#levels.thread.close(), this.#waves.close()]);
  }

  /** The machine as it stands now. @throws InputError  `no-machine` */
  async machine(id: number): Promise<DeskMachine> {
    const entry = await this.#record.machine(id);
    const place = this.#place(id);
    if (place.machine === undefined || place.revision !== entry.revision) {
      place.revision = entry.revision;
      place.machine = this.#read(entry);
      place.machine.catch(() => {
        place.machine = undefined;
      });
    }
    return place.machine;
  }

  /**
   * The machine, for computing.
   *
   * @throws InputError  `folder` when there is an error among its findings
   */
  async sound(id: number): Promise<DeskMachine & { readonly machine: Machine }> {
    const found = await this.machine(id);
    const { machine } = found;
    if (machine === undefined || found.errors > 0) throw new InputError('folder', BLOCKED);
    return { ...found, machine };
  }

  /** How far the table is, without asking for one. */
  table(id: number): TableState {
    return this.#places.get(id)?.table ?? NO_TABLE;
  }

  /** Begins to compute the table where there is none and nobody has stopped it. @param again  also when it was stopped or failed */
  async begin(id: number, again = false): Promise<TableState> {
    const found = await this.machine(id);
    const place = this.#place(id);
    if (found.machine === undefined || found.errors > 0) {
      this.#tell(id, { ...NO_TABLE, message: BLOCKED });
      return place.table;
    }
    this.#hold(found.entry, found.machine);
    const key = this.#tableKey(place, found.entry, found.machine);
    const parts = partsOf(found.machine);
    const wanted = `${key} ${parts}`;
    const { state, message } = place.table;
    if (place.tableKey === wanted && !(again && (['none', 'failed'].includes(state) || message !== ''))) {
      return place.table;
    }
    place.stop?.abort(new Error('another table is wanted'));
    place.tableKey = wanted;
    const stop = new AbortController();
    place.stop = stop;
    place.answers.clear();
    this.#tell(id, { state: 'working', done: 0, total: 0, message: '' });
    void this.#compute(id, key, parts, stop);
    return place.table;
  }

  /** Gives the work up; `begin(id, true)` takes it up again. */
  stop(id: number): TableState {
    const place = this.#place(id);
    place.stop?.abort(new Error('stopped'));
    return place.table;
  }

  /** What each point should read on a unit in a state. */
  async levels(id: number, unit: string, state: string): Promise<UnitLevels> {
    const { entry, machine } = await this.sound(id);
    this.#levels.hold(entry, machine, () => false);
    return this.#levels.thread.call('levels', id, unit, numberOf(machine, state));
  }

  /** Suspects and the next reading, `undefined` while there is no table. @param preview  a reading as if it were taken */
  async answer(id: number, unit: string, preview?: Reading): Promise<UnitAnswer | undefined> {
    const { entry, machine } = await this.sound(id);
    await this.begin(id);
    this.#hold(entry, machine);
    const answer = await this.#reckoning.thread.call('answer', id, unit, preview);
    if (answer !== undefined && preview === undefined) {
      this.#place(id).answers.set(unit, { revision: entry.revision, answer });
    }
    return answer;
  }

  /** The answer if it is there already and of this revision: for what should not wait for it. */
  knownAnswer({ id, revision }: MachineEntry, unit: string): UnitAnswer | undefined {
    const known = this.#places.get(id)?.answers.get(unit);
    return known?.revision === revision ? known.answer : undefined;
  }

  /** @throws InputError  for a fault or a state that is not there */
  async whatIf(id: number, fault: string, state?: string): Promise<WhatIf> {
    const { entry, machine } = await this.sound(id);
    this.#levels.hold(entry, machine, () => false);
    return this.#levels.thread.call('whatIf', id, fault, state);
  }

  /**
   * What an oscilloscope would show in a running state.
   *
   * @param signal  nobody waits for it any longer
   * @throws InputError  as `predictedWaves`; `stopped` after the signal
   */
  async waves(id: number, query: WaveQuery, signal: AbortSignal): Promise<PredictedWaves> {
    const { entry, machine } = await this.sound(id);
    return this.#waves.waves(entry, machine, query, signal);
  }

  async departures(machine: Machine, unit: string): Promise<readonly Departure[]> {
    return this.#levels.thread.call('departures', machine, unit);
  }

  /** First what stands still, of which answers come at once; then what runs, which takes many times as long. */
  async #compute(id: number, key: string, parts: readonly boolean[], stop: AbortController): Promise<void> {
    const place = this.#place(id);
    const current = (): boolean => place.stop === stop;
    const ready: TableState = { state: 'ready', done: 0, total: 0, message: '' };
    let answers = false;
    try {
      for (const atRest of parts) {
        const own = atRest ? `${key} at rest` : key;
        // A whole table that is kept says all.
        const whole = await this.#kept(key);
        const kept = whole ?? (atRest ? await this.#kept(own) : undefined);
        if (kept === undefined || !(await this.#reckoning.thread.call('takeTable', id, kept))) {
          const bytes = await this.#reckoning.thread.computeTable(
            id,
            (done, total) => {
              if (current())
                this.#tell(id, { state: answers ? 'ready' : 'working', done, total, message: '' });
            },
            stop.signal,
            atRest,
          );
          if (this.#options.mark !== undefined) await this.#record.keepFaultTable(own, bytes);
        }
        if (!current()) return;
        answers = true;
        place.answers.clear();
        this.#tell(id, ready);
        if (whole !== undefined) return;
      }
    } catch (error) {
      if (!current()) return;
      const { message } = error as Error;
      if (answers) this.#tell(id, { ...ready, message: stop.signal.aborted ? 'stopped' : message });
      else
        this.#tell(
          id,
          stop.signal.aborted
            ? { ...NO_TABLE, message: 'stopped' }
            : { state: 'failed', done: 0, total: 0, message },
        );
    }
  }

  async #kept(key: string): Promise<Uint8Array | undefined> {
    return this.#options.mark === undefined ? undefined : this.#record.faultTable(key);
  }

  #tell(id: number, state: TableState): void {
    const place = this.#place(id);
    if (JSON.stringify(place.table) === JSON.stringify(state)) return;
    place.table = state;
    this.#options.onTable(id, state);
  }

  #place(id: number): Place {
    const known = this.#places.get(id);
    if (known !== undefined) {
      // Put last again: the map's order is the order of use.
      this.#places.delete(id);
      this.#places.set(id, known);
      return known;
    }
    const place: Place = {
      machine: undefined,
      revision: -1,
      table: NO_TABLE,
      tableKey: '',
      wanted: { revision: -1, key: '' },
      stop: undefined,
      answers: new Map(),
    };
    this.#places.set(id, place);
    return place;
  }

  async #read(entry: MachineEntry): Promise<DeskMachine> {
    const files = await this.#record.tables(entry.id);
    // Many rows that nothing here depends on: they have pages of their own.
    for (const file of PICTURES) files.delete(file);
    const { machine, findings } = readMachine(files);
    const errors = findings.filter(({ severity }) => severity === 'error').length;
    const whole = machine && (await withCapturedWaves(machine, capturesOfRecord(this.#record, entry.id)));
    return { entry, machine: whole, findings, errors };
  }

  #tableKey(place: Place, { revision }: MachineEntry, machine: Machine): string {
    if (place.wanted.revision !== revision) {
      const text = `${this.#options.mark ?? ''}\n${tableKey(machine)}`;
      place.wanted = { revision, key: createHash('sha256').update(text).digest('hex') };
    }
    return place.wanted.key;
  }

  /** Sees to it that the reckoning holds this revision; a table that it has lost is wanted again. */
  #hold(entry: MachineEntry, machine: Machine): void {
    const busy = (id: number): boolean => this.table(id).state === 'working';
    for (const id of this.#reckoning.hold(entry, machine, busy)) {
      const place = this.#places.get(id);
      if (place === undefined) continue;
      place.tableKey = '';
      if (id !== entry.id) place.table = NO_TABLE;
    }
  }
}

/**
 * Which tables a machine wants, one after the other, as the answer to "at rest only?": the whole one where nothing runs, or where a unit
 * that may be faulty was read in a state that runs; what runs is many times the work of the rest.
 */
function partsOf(machine: Machine): readonly boolean[] {
  if (!machine.conditions.some(isRunning)) return [false];
  const isRead = machine.units.some(({ id, health }) => health !== 'healthy' && isReadRunning(machine, id));
  return isRead ? [true, false] : [true];
}

/** What the pictures show, where on them, and what the captures are. */
const PICTURES = ['photographs.csv', 'placements.csv', 'captures.csv', 'capture-channels.csv'];
const BLOCKED = 'nothing can be computed until the errors among the findings are mended';

/** @throws InputError  `unknown-condition` */
function numberOf(machine: Machine, state: string): number {
  const number = machine.conditions.findIndex(({ name }) => name === state);
  if (number < 0) throw new InputError('unknown-condition', `no state ${JSON.stringify(state)}`);
  return number;
}
