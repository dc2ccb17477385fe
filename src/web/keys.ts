/** Keys of a page, and G for the pages, wherever no text is being written. */

import { useEffect, useRef } from 'react';

/** Key as the browser names it (`Enter`, `ArrowUp`, `t`) to what it does; an answer of false lets the browser have the key. */
export type KeyMap = Readonly<Record<string, ((event: KeyboardEvent) => unknown) | undefined>>;

/** Whether what has the focus takes letters or arrows for itself. */
export function writes(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (target.dataset.keys === 'page') return false;
  return (
    target.isContentEditable ||
    target instanceof HTMLTextAreaElement ||
    target instanceof HTMLSelectElement ||
    (target instanceof HTMLInputElement && !/^(button|checkbox|radio|submit)$/.test(target.type))
  );
}

/** Whether a key is for a control rather than for the page: Enter and space on a button or a link, anything in a dialog. */
function belongsToControl(event: KeyboardEvent): boolean {
  const { target } = event;
  if (!(target instanceof HTMLElement)) return false;
  if (target.closest('dialog, [role=dialog], [role=listbox]') !== null) return true;
  return (
    (event.key === 'Enter' || event.key === ' ') &&
    target.closest('button, a, summary, [role=button]') !== null
  );
}

/**
 * Listens while the component is there. The keys of a page do not reach into text fields, except into one that says
 * `data-keys="page"` and leaves them to the page; nor into dialogs.
 */
export function useKeys(keys: KeyMap, active = true): void {
  const latest = useRef(keys);
  latest.current = keys;
  useEffect(() => {
    if (!active) return undefined;
    const press = (event: KeyboardEvent) => {
      if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey) return;
      // A foot switch is for the page wherever the focus is.
      const anywhere = /^F\d+$/.test(event.key) && document.querySelector('dialog[open]') === null;
      if (!anywhere && (writes(event.target) || belongsToControl(event))) return;
      const known = latest.current[event.key] ?? latest.current[event.key.toLowerCase()];
      if (known === undefined || known(event) === false) return;
      event.preventDefault();
    };
    window.addEventListener('keydown', press);
    return () => window.removeEventListener('keydown', press);
  }, [active]);
}
