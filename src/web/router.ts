/** Where the browser is: paths and queries by the History API, without a page load. */

import { useMemo, useSyncExternalStore } from 'react';

export interface Place {
  readonly path: string;
  readonly query: URLSearchParams;
}

const listeners = new Set<() => void>();
window.addEventListener('popstate', () => tell());

function tell(): void {
  for (const listener of listeners) listener();
}

function subscribe(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Goes to a path of ours. With `replace` the way back does not stop here again, as for a changed choice on the same page. */
export function go(to: string, { replace = false } = {}): void {
  if (to === location.pathname + location.search) return;
  history[replace ? 'replaceState' : 'pushState'](null, '', to);
  if (!replace) window.scrollTo(0, 0);
  tell();
}

export function usePlace(): Place {
  const url = useSyncExternalStore(subscribe, () => location.pathname + location.search);
  return useMemo(() => {
    const { pathname, searchParams } = new URL(url, location.origin);
    return { path: pathname, query: searchParams };
  }, [url]);
}

/** Names and values of a pattern such as `/m/:id/board/:board`, or `undefined` where the path is another. */
export function matched(pattern: string, path: string): Record<string, string> | undefined {
  const want = pattern.split('/');
  const have = path.split('/');
  if (want.length !== have.length) return undefined;
  const found: Record<string, string> = {};
  for (const [i, part] of want.entries()) {
    if (part.startsWith(':')) found[part.slice(1)] = decoded(have[i]!);
    else if (part !== have[i]) return undefined;
  }
  return found;
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** A path with its query; what is undefined is left out. */
export function address(path: string, query: Readonly<Record<string, string | undefined>> = {}): string {
  const given = Object.entries(query).filter((entry): entry is [string, string] => entry[1] !== undefined);
  return given.length === 0 ? path : `${path}?${new URLSearchParams(given)}`;
}
