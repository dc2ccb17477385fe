/**
 * The server behind the page: loopback only, one typed API over the record and the desk, and the built page itself. The page
 * takes `Api` and the views' types from here; the command line starts it with `serve`.
 *
 * It computes nothing itself and keeps nothing: what it answers comes from `workbench` and `records`.
 */
export type { Api } from './app.ts';
export type * from './capture-views.ts';
export type * from './flow-views.ts';
export type * from './record-views.ts';
export type { NewMachine, SheetEdit } from './requests.ts';
export { type ServeOptions, type Serving, serve } from './serve.ts';
export type * from './views.ts';
export type * from './wave-views.ts';
