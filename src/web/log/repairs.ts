/** The log by repairs: one is opened by a symptom and closed by proof, and what is written of the unit between belongs to it. */

import type { LogEntryView } from '../../server/index.ts';
import { byDate } from '../dates.ts';

/** An entry that stands, with those that it has superseded, the newest first. */
export interface Standing {
  readonly entry: LogEntryView;
  readonly earlier: readonly LogEntryView[];
  /** Id of the first of them: it stays, however often an entry is corrected. */
  readonly root: string;
}

export interface Repair {
  /** Root of the symptom that opened it. */
  readonly key: string;
  readonly unit: string;
  /** In the order of their dates, the symptom first. */
  readonly entries: readonly Standing[];
  /** The proof that closed it. */
  readonly closed: LogEntryView | undefined;
  /** Readings after this moment belong to it: the proof of the repair before; empty for all. */
  readonly from: string;
}

export interface LogByRepairs {
  /** The last one opened first. */
  readonly repairs: readonly Repair[];
  /** Entries outside any repair, the newest first. */
  readonly loose: readonly Standing[];
}

/** @param log  all entries of a machine, in the order in which they were written */
export function byRepairs(log: readonly LogEntryView[]): LogByRepairs {
  const open = new Map<string, { repair: Omit<Repair, 'closed' | 'entries'>; entries: Standing[] }>();
  const lastProof = new Map<string, string>();
  const repairs: Repair[] = [];
  const loose: Standing[] = [];
  for (const one of standingEntries(log)) {
    const { entry } = one;
    const current = open.get(entry.unit);
    if (current === undefined && entry.kind !== 'symptom') {
      loose.push(one);
    } else if (current === undefined) {
      const repair = { key: one.root, unit: entry.unit, from: lastProof.get(entry.unit) ?? '' };
      open.set(entry.unit, { repair, entries: [one] });
    } else {
      current.entries.push(one);
      if (entry.kind !== 'proof') continue;
      repairs.push({ ...current.repair, entries: current.entries, closed: entry });
      open.delete(entry.unit);
      lastProof.set(entry.unit, entry.date);
    }
  }
  for (const { repair, entries } of open.values()) repairs.push({ ...repair, entries, closed: undefined });
  const opened = (repair: Repair): string => repair.entries[0]!.entry.date;
  return { repairs: repairs.sort((a, b) => byDate(opened(b), opened(a))), loose: loose.reverse() };
}

/** What stands, by date; of one date as it was written. */
export function standingEntries(log: readonly LogEntryView[]): Standing[] {
  const byId = new Map(log.map((entry) => [entry.id, entry]));
  return log
    .filter(({ superseded, withdrawn }) => !superseded && !withdrawn)
    .map((entry) => {
      const earlier: LogEntryView[] = [];
      for (
        let old = byId.get(entry.replaces);
        old !== undefined && old !== entry && !earlier.includes(old);
        old = byId.get(old.replaces)
      ) {
        earlier.push(old);
      }
      return { entry, earlier, root: earlier.at(-1)?.id ?? entry.id };
    })
    .sort((a, b) => byDate(a.entry.date, b.entry.date));
}
