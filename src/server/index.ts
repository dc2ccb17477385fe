/**
 * The server behind the page: loopback only, one typed API over the record and the desk, and the built page itself. The page
 * takes `Api` and the views' types from here.
 *
 * It computes nothing itself and keeps nothing: what it answers comes from `workbench` and `records`.
 */
export { type Api, application } from './app.ts';
export type { Guard } from './guard.ts';
export type * from './views.ts';
export type { Workshop } from './workshop.ts';
