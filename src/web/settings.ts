/** What a person has chosen for this browser: light or dark, size, speech, and the key that the foot switch sends. */

import { useSyncExternalStore } from 'react';

export interface Settings {
  readonly theme: 'system' | 'light' | 'dark';
  readonly size: '100' | '125' | '150';
  /** The next point is spoken. */
  readonly speech: boolean;
  /** `KeyboardEvent.key` of the foot switch. */
  readonly footKey: string;
}

const USUAL: Settings = { theme: 'system', size: '100', speech: false, footKey: 'F8' };
const PLACE = 'sisterboard settings';

let current = read();
const listeners = new Set<() => void>();

function read(): Settings {
  try {
    const kept: unknown = JSON.parse(localStorage.getItem(PLACE) ?? '{}');
    return checked(typeof kept === 'object' && kept !== null ? kept : {});
  } catch {
    return USUAL;
  }
}

function checked(kept: Partial<Record<keyof Settings, unknown>>): Settings {
  const { theme, size, speech, footKey } = kept;
  return {
    theme: theme === 'light' || theme === 'dark' ? theme : USUAL.theme,
    size: size === '125' || size === '150' ? size : USUAL.size,
    speech: speech === true,
    footKey: typeof footKey === 'string' && footKey !== '' ? footKey : USUAL.footKey,
  };
}

export function changeSettings(change: Partial<Settings>): void {
  current = { ...current, ...change };
  try {
    localStorage.setItem(PLACE, JSON.stringify(current));
  } catch {
    // A browser that keeps nothing still shows what was chosen, for this visit.
  }
  applySettings();
  for (const listener of listeners) listener();
}

/** Puts theme and size where the style sheets look for them. */
export function applySettings(): void {
  const { dataset } = document.documentElement;
  dataset.size = current.size;
  if (current.theme === 'system') delete dataset.theme;
  else dataset.theme = current.theme;
}

function settings(): Settings {
  return current;
}

export function useSettings(): Settings {
  return useSyncExternalStore((listener) => {
    listeners.add(listener);
    return () => listeners.delete(listener);
  }, settings);
}
