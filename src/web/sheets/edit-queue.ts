/**
 * The edits of a sheet on their way to the record: what is written shows at once, goes out in order, one change at a time, and
 * nothing is overwritten that somebody else has changed meanwhile.
 */

import type { SheetEdit, SheetView } from '../../server/index.ts';
import type { Outcome, Problem } from '../live.ts';

export type Cells = Readonly<Record<string, string>>;

export interface SheetRow {
  /** Stays the same while the row is on the page, also when the record gives it another id. */
  readonly key: string;
  /** 0 until the record has it. */
  readonly id: number;
  readonly version: number;
  readonly cells: Cells;
}

/** Cells of a row, or of a new one below another or at the end. */
export interface RowChange {
  readonly row?: SheetRow | undefined;
  readonly after?: SheetRow | undefined;
  readonly cells: Cells;
}

/** Somebody else has changed or removed the row while this was written. */
export interface RowConflict {
  readonly row: SheetRow;
  readonly mine: Cells;
  /** `undefined` when the row is gone. */
  readonly theirs: Cells | undefined;
  readonly version: number;
}

type Edit =
  | { readonly kind: 'add'; readonly key: string; readonly after: string | undefined; readonly cells: Cells }
  | { readonly kind: 'write'; readonly row: SheetRow; readonly cells: Cells }
  | { readonly kind: 'remove'; readonly row: SheetRow };

interface Job {
  readonly what: string;
  readonly edits: readonly Edit[];
}

export interface QueueState {
  /** As they will stand once all is kept. */
  readonly rows: readonly SheetRow[];
  readonly conflicts: readonly RowConflict[];
  /** Why the first change waiting could not be kept; it stands in the rows all the same. */
  readonly problem: Problem | undefined;
  readonly waiting: number;
}

type Send = (edits: SheetEdit[], what: string) => Promise<Outcome<SheetView>>;

export class EditQueue {
  readonly #send: Send;
  /** Whether a written row is replaced by another one, as readings are. */
  readonly #replaces: boolean;
  readonly #listeners = new Set<() => void>();
  #view: SheetView | undefined;
  #jobs: Job[] = [];
  #conflicts: RowConflict[] = [];
  #problem: Problem | undefined;
  #running = false;
  #state: QueueState = { rows: [], conflicts: [], problem: undefined, waiting: 0 };
  /** Keys of rows that were made here, by id. */
  readonly #keys = new Map<number, string>();
  readonly #ids = new Map<string, number>();
  /** `id:version` before one of our changes to the version after it. */
  readonly #versions = new Map<string, number>();
  #made = 0;

  constructor(send: Send, { replaces = false } = {}) {
    this.#send = send;
    this.#replaces = replaces;
  }

  readonly subscribe = (listener: () => void): (() => void) => {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  };

  readonly state = (): QueueState => this.#state;

  /** What the record has now; an older answer than the last is passed by. */
  take(view: SheetView): void {
    if (this.#view !== undefined && view.revision < this.#view.revision) return;
    if (view === this.#view) return;
    this.#view = view;
    this.#tell();
  }

  /** @returns  the keys of the rows, new ones included, in the order of the changes */
  write(changes: readonly RowChange[], what: string): string[] {
    const edits = changes.map(({ row, after, cells }): Edit => {
      if (row) return { kind: 'write', row, cells };
      this.#made += 1;
      return { kind: 'add', key: `new${this.#made}`, after: after?.key, cells };
    });
    this.#put({ what, edits });
    return edits.map((edit) => (edit.kind === 'add' ? edit.key : edit.row.key));
  }

  remove(rows: readonly SheetRow[], what: string): void {
    this.#put({ what, edits: rows.map((row): Edit => ({ kind: 'remove', row })) });
  }

  /** Tries again what could not be kept. */
  retry(): void {
    this.#problem = undefined;
    this.#tell();
    void this.#run();
  }

  /** Gives up what could not be kept, and what was to follow it. */
  giveUp(): void {
    this.#problem = undefined;
    this.#jobs = [];
    this.#tell();
  }

  /** Ends a conflict: writes what was written here over the other's, or leaves the other's. */
  settle(conflict: RowConflict, whose: 'mine' | 'theirs'): void {
    this.#conflicts = this.#conflicts.filter((one) => one !== conflict);
    const { row, mine, theirs, version } = conflict;
    if (whose === 'theirs') this.#tell();
    else if (theirs === undefined)
      this.write([{ cells: { ...row.cells, ...mine } }], 'a removed row, written again');
    else this.write([{ row: { ...row, version }, cells: mine }], 'written over another change');
  }

  /** Done when nothing is on its way. */
  async settled(): Promise<void> {
    while (this.#running) await new Promise((next) => setTimeout(next, 20));
  }

  #put(job: Job): void {
    if (job.edits.length === 0) return;
    this.#jobs.push(job);
    this.#tell();
    void this.#run();
  }

  async #run(): Promise<void> {
    if (this.#running || this.#problem !== undefined) return;
    this.#running = true;
    while (this.#jobs.length > 0 && this.#problem === undefined) {
      const job = this.#jobs[0]!;
      const before = new Set(this.#view?.rows.map(({ id }) => id));
      const outcome = await this.#send(this.#edits(job), job.what);
      // Given up while it was on its way.
      const waiting = this.#jobs[0] === job;
      if (outcome.ok) {
        this.#learn(job, before, outcome.value);
        if (waiting) this.#jobs.shift();
        if (this.#view === undefined || outcome.value.revision >= this.#view.revision)
          this.#view = outcome.value;
      } else if (waiting) this.#refused(job, outcome.problem);
      this.#tell();
    }
    this.#running = false;
    this.#tell();
  }

  #edits(job: Job): SheetEdit[] {
    return job.edits.map((edit): SheetEdit => {
      if (edit.kind === 'add') {
        const after = edit.after === undefined ? 0 : this.#idOf(edit.after);
        return after > 0 ? { add: edit.cells, after } : { add: edit.cells };
      }
      const id = this.#idOf(edit.row.key);
      const version = this.#versionOf(id, edit.row.version);
      return edit.kind === 'write' ? { row: id, version, cells: edit.cells } : { remove: id, version };
    });
  }

  #idOf(key: string): number {
    return this.#ids.get(key) ?? (/^r\d+$/.test(key) ? Number(key.slice(1)) : 0);
  }

  /** A row that only we have changed since is the one that was seen. */
  #versionOf(id: number, version: number): number {
    let known = version;
    for (;;) {
      const next = this.#versions.get(`${id}:${known}`);
      if (next === undefined || next === known) return known;
      known = next;
    }
  }

  /** Which rows the record has made of ours, and their versions. */
  #learn(job: Job, before: ReadonlySet<number>, after: SheetView): void {
    const fresh = after.rows.map(({ id }) => id).filter((id) => !before.has(id));
    fresh.sort((a, b) => a - b);
    const makers = job.edits.filter(({ kind }) => kind === 'add' || (kind === 'write' && this.#replaces));
    const versions = new Map(after.rows.map(({ id, version }) => [id, version]));
    if (fresh.length === makers.length) {
      for (const [i, edit] of makers.entries()) {
        const id = fresh[i]!;
        const key = edit.kind === 'add' ? edit.key : (edit as { row: SheetRow }).row.key;
        this.#ids.set(key, id);
        this.#keys.set(id, key);
        const seen = edit.kind === 'add' ? 0 : (edit as { row: SheetRow }).row.version;
        this.#versions.set(`${id}:${seen}`, versions.get(id)!);
      }
    }
    for (const edit of job.edits) {
      if (edit.kind !== 'write' || this.#replaces) continue;
      const id = this.#idOf(edit.row.key);
      const seen = this.#versionOf(id, edit.row.version);
      const now = versions.get(id);
      if (now !== undefined && now !== seen) this.#versions.set(`${id}:${seen}`, now);
    }
  }

  #refused(job: Job, problem: Problem): void {
    const standing = problem.now as { id: number; version: number; cells: Cells } | null | undefined;
    const at = problem.code === 'conflict' ? this.#conflicting(job, standing ?? undefined) : -1;
    if (at < 0) {
      this.#problem = problem;
      return;
    }
    const edit = job.edits[at]!;
    if (edit.kind === 'write') {
      const mine = edit.cells;
      const { row } = edit;
      this.#conflicts.push({ row, mine, theirs: standing?.cells, version: standing?.version ?? 0 });
    }
    // A row that somebody changed is not removed; the others of the change go out without it.
    const rest = job.edits.filter((_, i) => i !== at);
    if (rest.length > 0) this.#jobs[0] = { ...job, edits: rest };
    else this.#jobs.shift();
  }

  #conflicting(job: Job, standing: { readonly id: number } | undefined): number {
    const known = new Set(this.#view?.rows.map(({ id }) => id));
    return job.edits.findIndex((edit) => {
      if (edit.kind === 'add') return false;
      const id = this.#idOf(edit.row.key);
      return standing === undefined ? !known.has(id) || job.edits.length === 1 : id === standing.id;
    });
  }

  #tell(): void {
    this.#state = {
      rows: this.#rows(),
      conflicts: [...this.#conflicts],
      problem: this.#problem,
      waiting: this.#jobs.length,
    };
    for (const listener of this.#listeners) listener();
  }

  #rows(): SheetRow[] {
    const rows: SheetRow[] = (this.#view?.rows ?? []).map(({ id, version, cells }) => {
      return { key: this.#keys.get(id) ?? `r${id}`, id, version, cells };
    });
    for (const { edits } of this.#jobs) {
      const places = new Map(rows.map(({ key }, i) => [key, i]));
      const gone = new Set<string>();
      const added: { readonly after: string | undefined; readonly row: SheetRow }[] = [];
      for (const edit of edits) {
        if (edit.kind === 'add') {
          added.push({ after: edit.after, row: { key: edit.key, id: 0, version: 0, cells: edit.cells } });
          continue;
        }
        const at = places.get(edit.row.key);
        if (at === undefined) continue;
        if (edit.kind === 'remove') gone.add(edit.row.key);
        else rows[at] = { ...rows[at]!, cells: { ...rows[at]!.cells, ...edit.cells } };
      }
      for (const { after, row } of added) {
        if (places.has(row.key)) continue;
        const at = after === undefined ? -1 : rows.findIndex(({ key }) => key === after);
        if (at < 0) rows.push(row);
        else rows.splice(at + 1, 0, row);
      }
      if (gone.size > 0) rows.splice(0, rows.length, ...rows.filter(({ key }) => !gone.has(key)));
    }
    return rows;
  }
}
