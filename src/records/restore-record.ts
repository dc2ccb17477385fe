/**
 * Puts a backup in the place of a record. What stands there is kept beside it under another name; programs that have the record
 * open go on with the restored one.
 *
 * @param clock  for the name of what is kept
 * @returns where the earlier record is kept, if there was one
 * @throws InputError  `no-record`, `not-a-record`, `newer-record`, `damaged`: of the backup, and nothing was changed;
 *   `unwritable`, `disk-full`
 */
export async function restoreRecord(
  from: string,
  to: string,
  clock: () => Date,
): Promise<{ readonly kept?: string }> {
  return (await import('./backup.ts')).restoreRecord(from, to, clock);
}
