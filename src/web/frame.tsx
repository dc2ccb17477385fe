/** What stands round every page: the machine and what the page is about, the pages, undo; at the foot the keys. */

import { type ReactNode, useEffect, useState } from 'react';
import { Dialog } from './dialog.tsx';
import { useKeys } from './keys.ts';
import { KeysDialog, type KeyWords } from './keys-dialog.tsx';
import { Link } from './link.tsx';
import { type Connection, useConnection } from './live.ts';
import { MACHINES, PAGES, type PageEntry } from './pages.ts';
import { go, usePlace } from './router.ts';
import { UndoButton } from './undo.tsx';

export interface FrameProps {
  /** Of the browser's window. */
  readonly title: string;
  readonly machine?: { readonly id: string; readonly name: string } | undefined;
  /** What the page is about: its board, the units with their marks. */
  readonly legend?: ReactNode;
  /** This page's own keys, the first few of which stand at its foot. */
  readonly keys?: readonly KeyWords[];
  /** Right end of the foot. */
  readonly end?: ReactNode;
  readonly className?: string;
  readonly children: ReactNode;
}

const NO_KEYS: readonly KeyWords[] = [];
const CUT_OFF: Readonly<Record<Exclude<Connection, 'there'>, string>> = {
  gone: 'Sisterboard does not answer: what is shown is as it was, and nothing can be kept. Is it still running in its terminal?',
  locked:
    'Sisterboard was started anew and has a new key: open the address that its terminal shows in another window, and this page goes on.',
};

export function Frame({ title, machine, legend, keys = NO_KEYS, end, className, children }: FrameProps) {
  const { path } = usePlace();
  const [open, setOpen] = useState<'pages' | 'keys' | undefined>();
  const entries = machine ? [...PAGES, MACHINES] : [MACHINES];
  const target = (page: PageEntry) => page.path(machine?.id ?? '');
  const here = (page: PageEntry) =>
    path === target(page) || (page !== MACHINES && path.startsWith(`${target(page)}/`));
  useEffect(() => {
    document.title = `${title} · Sisterboard`;
  }, [title]);
  useKeys({ g: () => setOpen('pages'), '?': () => setOpen('keys') }, open === undefined);
  const close = () => setOpen(undefined);
  const connection = useConnection();
  return (
    <div className={`frame ${className ?? ''}`}>
      <header className="running-head">
        <span className={`machine ${legend ? 'beside' : ''}`}>{machine ? machine.name : 'Sisterboard'}</span>
        {legend && <div className="legend">{legend}</div>}
        <nav className="pages" aria-label="Pages">
          {entries.map((page) => (
            <Link key={page.name} to={target(page)} aria-current={here(page) ? 'page' : undefined}>
              <span>{page.name}</span>
            </Link>
          ))}
        </nav>
        <button type="button" className="button pages-button" onClick={() => setOpen('pages')}>
          Pages
        </button>
        {machine && <UndoButton machine={machine.id} />}
      </header>
      {connection !== 'there' && (
        <p className="refusal" role="alert">
          {CUT_OFF[connection]}
        </p>
      )}
      <main>{children}</main>
      <footer className="page-foot">
        <div className="keys">
          {keys
            .filter(({ foot }) => foot)
            .map(({ caps, does, press }) =>
              press ? (
                <button key={does} type="button" className="foot-button" onClick={press}>
                  <Caps caps={caps} /> {does}
                </button>
              ) : (
                <span key={does}>
                  <Caps caps={caps} /> {does}
                </span>
              ),
            )}
          <button type="button" className="foot-button" onClick={() => setOpen('keys')}>
            <kbd>?</kbd> all keys
          </button>
        </div>
        {end && <span className="end">{end}</span>}
      </footer>
      {open === 'pages' && (
        <PagesDialog machine={machine?.id} entries={entries} target={target} here={here} onClose={close} />
      )}
      {open === 'keys' && <KeysDialog keys={keys} onClose={close} />}
    </div>
  );
}

export function Caps({ caps }: { readonly caps: readonly string[] }) {
  return caps.map((cap, i) => (
    <span key={cap}>
      {i > 0 && ' '}
      <kbd>{cap}</kbd>
    </span>
  ));
}

function PagesDialog({
  machine,
  entries,
  target,
  here,
  onClose,
}: {
  readonly machine: string | undefined;
  readonly entries: readonly PageEntry[];
  readonly target: (page: PageEntry) => string;
  readonly here: (page: PageEntry) => boolean;
  readonly onClose: () => void;
}) {
  const follow = (page: PageEntry) => {
    onClose();
    go(target(page));
  };
  useEffect(() => {
    const press = (event: KeyboardEvent) => {
      const page = entries.find(({ letter }) => letter === event.key.toLowerCase());
      if (!page || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      onClose();
      go(target(page));
    };
    window.addEventListener('keydown', press);
    return () => window.removeEventListener('keydown', press);
  }, [entries, target, onClose]);
  return (
    <Dialog title="Pages" className="pages-dialog" onClose={onClose}>
      <ul>
        {entries.map((page) => (
          <li key={page.name}>
            <Link
              to={target(page)}
              aria-current={here(page) ? 'page' : undefined}
              onClick={(event) => {
                event.preventDefault();
                follow(page);
              }}
            >
              <kbd>{page.letter.toUpperCase()}</kbd> {page.name}
            </Link>
          </li>
        ))}
      </ul>
      {machine && <UndoButton machine={machine} />}
    </Dialog>
  );
}
