/**
 * What is kept on a disk: the record of a workshop in one file, the machine folder read and written, and the person's cache
 * folder, where costly results wait for the next call. Start with `openRecord(path, { clock })`, or with `folderFiles(path)`
 * for a folder; `writeFolder` writes one that is never half there; `Cache` keeps bytes under a key and forgets them at the
 * first doubt.
 *
 * It does not know what the files mean: `machine` reads their text.
 */
export { Cache, cacheFolder } from './cache.ts';
export { type ByteSource, channelScales, scaledWish } from './capture-intake.ts';
export { CaptureRefusal } from './capture-refusal.ts';
export { statesOf } from './capture-series.ts';
export { putCaptureIntoFolder } from './folder-capture.ts';
export { folderFiles, importableFiles } from './folder-files.ts';
export { InputError } from './input-error.ts';
export type { LogChoice } from './log-store.ts';
export { openRecord, type RecordOptions } from './open-record.ts';
export type { NewPhotograph } from './picture-store.ts';
export { usualRecordPath } from './record-path.ts';
export * from './record-types.ts';
export { restoreRecord } from './restore-record.ts';
export { writeFolder } from './whole-write.ts';
export type { WorkshopRecord } from './workshop-record.ts';
