import type { WorkshopRecord } from './workshop-record.ts';

export interface RecordOptions {
  /** The time that changes and readings are given. */
  readonly clock: () => Date;
  /** Makes the file where there is none. */
  readonly create?: boolean;
}

/**
 * Opens the record of a workshop. The store is loaded only now, so that a program that works on folders starts without it.
 *
 * @param path  the file; with `create`, folders above it are made with it
 * @throws InputError  `no-record`, `not-a-record`, `newer-record`, `damaged`, `read-only`, `no-folder`, `disk-full`: the file is
 *   as it was then
 */
export async function openRecord(path: string, options: RecordOptions): Promise<WorkshopRecord> {
  const [{ openStore }, { WorkshopRecord }] = await Promise.all([
    import('./store.ts'),
    import('./workshop-record.ts'),
  ]);
  return new WorkshopRecord(await openStore(path, options.create ?? false), options.clock);
}
