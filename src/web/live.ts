/**
 * The way to the server. `api` is the typed client; `useLive` shows what a GET answers and keeps it up to date when the record
 * changes, in this window, another one or on the command line; `told` turns the answer to a write into a value. Nothing here
 * throws for a refusal or a server that is gone: both are values, for the page to say.
 */

import { type ClientResponse, hc } from 'hono/client';
import { useCallback, useSyncExternalStore } from 'react';
import type { Api, EventView, Refusal, TableView } from '../server/index.ts';

export const { api } = hc<Api>(location.origin);

/** Why there is no answer: a refusal of the server, or `unreachable` when it did not answer at all. */
export type Problem = Refusal['error'];

export type Outcome<T> =
  | { readonly ok: true; readonly value: T }
  | { readonly ok: false; readonly problem: Problem };

const UNREACHABLE: Problem = {
  code: 'unreachable',
  message: 'Sisterboard does not answer. Is it still running in its terminal?',
};

// biome-ignore lint/suspicious/noExplicitAny: the status and format of an answer do not matter here
type Answer<T> = Promise<ClientResponse<T, any, any>>;

/** The value of an answer, or why there is none. `told(api.machines.$post({ json }))` */
export async function told<T>(answer: Answer<T>): Promise<Outcome<T>> {
  let response: Awaited<Answer<T>>;
  try {
    response = await answer;
  } catch {
    return { ok: false, problem: UNREACHABLE };
  }
  try {
    const body: unknown = await response.json();
    return response.ok
      ? { ok: true, value: body as T }
      : { ok: false, problem: (body as Refusal).error ?? unreadable(response.status) };
  } catch {
    return { ok: false, problem: unreadable(response.status) };
  }
}

function unreadable(status: number): Problem {
  return { code: 'unreadable', message: `The answer cannot be read (status ${status}).` };
}

/** What is known of one GET. `value` stays while a newer one is on its way, and when the newer one is refused. */
export interface Live<T> {
  readonly value?: T;
  readonly problem?: Problem;
  /** Nothing has changed since `value` was asked for, as far as is known. */
  readonly fresh: boolean;
}

interface Entry {
  live: Live<unknown>;
  readonly load: () => Answer<unknown>;
  readonly listeners: Set<() => void>;
  /** Counts the loads, so that only the newest one's answer is kept. */
  turn: number;
}

interface Getter<Args, T> {
  // biome-ignore lint/suspicious/noExplicitAny: as above
  $get(args: Args): Promise<ClientResponse<T, any, any>>;
  // biome-ignore lint/suspicious/noExplicitAny: its type depends on each call's arguments
  $path(args: any): string;
}

const NOTHING: Live<never> = { fresh: false };
/** Answers that nobody looks at are kept for a way back, so many of them. */
const IDLE_MOST = 40;
const entries = new Map<string, Entry>();

/**
 * What `endpoint` answers to `args`, now and after every change of the record; nothing is asked while `args` is undefined.
 * `useLive(api.machines[':id'].bench, { param: { id: '1' }, query: { unit, state } })`
 */
export function useLive<Args, T>(endpoint: Getter<Args, T>, args: Args | undefined): Live<T> {
  const key = args === undefined ? undefined : endpoint.$path(args);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the key says all that is in the arguments
  const subscribe = useCallback(
    (listener: () => void) => {
      if (key === undefined || args === undefined) return () => undefined;
      const entry = entryOf(key, () => endpoint.$get(args));
      entry.listeners.add(listener);
      if (!entry.live.fresh) void reload(entry);
      return () => {
        entry.listeners.delete(listener);
        if (entry.listeners.size === 0) forgetIdle();
      };
    },
    [key],
  );
  return useSyncExternalStore(subscribe, () =>
    key === undefined ? NOTHING : ((entries.get(key)?.live ?? NOTHING) as Live<T>),
  );
}

function entryOf(key: string, load: () => Answer<unknown>): Entry {
  const known = entries.get(key);
  // Put last again: the map's order is the order of use.
  entries.delete(key);
  const entry = known ?? { live: NOTHING, load, listeners: new Set(), turn: 0 };
  entries.set(key, entry);
  return entry;
}

async function reload(entry: Entry): Promise<void> {
  entry.turn += 1;
  const { turn } = entry;
  const outcome = await told(entry.load());
  if (turn !== entry.turn) return;
  entry.live = outcome.ok
    ? { value: outcome.value, fresh: true }
    : { ...entry.live, problem: outcome.problem, fresh: false };
  for (const listener of entry.listeners) listener();
}

function forgetIdle(): void {
  const idle = [...entries].filter(([, { listeners }]) => listeners.size === 0);
  for (const [key] of idle.slice(0, Math.max(0, idle.length - IDLE_MOST))) entries.delete(key);
}

/** What a person at the bench waits for, in the order of need: it goes first, and the rest does not get in its way. */
const URGENT = [/\/suspects\?/, /\/bench\?/];
/** Milliseconds that the rest waits for it at most. */
const REST_WAITS = 400;

/** Asks again for what is looked at, and forgets the rest, where `concerns` says so of the path. */
function outdate(concerns: (path: string) => boolean): void {
  const due: [key: string, entry: Entry][] = [];
  for (const [key, entry] of entries) {
    if (!concerns(key)) continue;
    if (entry.listeners.size === 0) {
      entries.delete(key);
    } else {
      entry.live = { ...entry.live, fresh: false };
      due.push([key, entry]);
    }
  }
  const urgent = URGENT.flatMap((one) => due.filter(([key]) => one.test(key)));
  const first = Promise.all(urgent.map(([, entry]) => reload(entry)));
  const rest = due.filter((one) => !urgent.includes(one));
  const reloadRest = () => {
    for (const [, entry] of rest) if (!entry.live.fresh) void reload(entry);
  };
  if (urgent.length === 0) reloadRest();
  else void Promise.race([first, new Promise((done) => setTimeout(done, REST_WAITS))]).then(reloadRest);
}

/** The revision of each machine that was asked about last, where it was told. */
const asked = new Map<number, number>();

/**
 * All that was asked about this machine is asked anew; for a page that has just written.
 *
 * @param revision  after the writing: what the stream of events says of it is then no news
 */
export function outdateMachine(machine: number | string, revision?: number): void {
  if (revision !== undefined) {
    if (asked.get(Number(machine)) === revision) return;
    asked.set(Number(machine), revision);
  }
  outdate(
    (path) =>
      /^\/api\/machines(?:\/removed)?$/.test(path) ||
      new RegExp(`^/api/machines/${machine}(?:[/?]|$)`).test(path),
  );
}

/** Whether the server answers: `locked` when it was started anew and wants to hear its new key first. */
export type Connection = 'there' | 'gone' | 'locked';

let connection: Connection | undefined;
const tables = new Map<number, TableView>();
const worldListeners = new Set<() => void>();

function tellWorld(): void {
  for (const listener of worldListeners) listener();
}

function subscribeWorld(listener: () => void): () => void {
  worldListeners.add(listener);
  return () => worldListeners.delete(listener);
}

/** Milliseconds between two tries to be heard by a server that refuses the stream. */
const TRIES_AFTER = 2000;

/** Opens the stream of events; once, when the page starts. The browser reconnects by itself, unless it is refused. */
export function listen(): void {
  const stream = new EventSource('/api/events');
  stream.addEventListener('open', () => {
    // What happened while the line was down is not known.
    if (connection === 'gone' || connection === 'locked') outdate(() => true);
    turn('there');
  });
  stream.addEventListener('error', () => {
    if (stream.readyState !== EventSource.CLOSED) {
      turn('gone');
      return;
    }
    void fetch('/api/machines').then(
      ({ status }) => turn(status === 401 ? 'locked' : 'gone'),
      () => turn('gone'),
    );
    setTimeout(listen, TRIES_AFTER);
  });
  stream.addEventListener('message', ({ data }) => take(JSON.parse(data) as EventView));
}

function turn(to: Connection): void {
  if (connection === to) return;
  connection = to;
  tellWorld();
}

function take(event: EventView): void {
  if (event.kind === 'changed') {
    for (const { id, revision } of event.machines) outdateMachine(id, revision);
    return;
  }
  // How far a file is read says the page that sends it.
  if (event.kind === 'reading') return;
  const before = tables.get(event.machine);
  tables.set(event.machine, event.table);
  // What runs is worked out after what stands still, and says more.
  const whole = (before?.total ?? 0) > 0 && event.table.total === 0;
  if (before?.state !== event.table.state || whole) {
    const ours = new RegExp(`^/api/machines/${event.machine}(?:/suspects|$)`);
    outdate((path) => ours.test(path));
  }
  tellWorld();
}

/** How the server answers; `there` until it is known not to. */
export function useConnection(): Connection {
  return useSyncExternalStore(subscribeWorld, () => connection ?? 'there');
}

/** How far the fault table is, as the events say; undefined until one has come. */
export function useTable(machine: number): TableView | undefined {
  return useSyncExternalStore(subscribeWorld, () => tables.get(machine));
}
