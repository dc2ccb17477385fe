/** The log of a machine: what was noticed, found, changed and proved, unit by unit and repair by repair. */

import { useRef, useState } from 'react';
import type { LogEntryView, MachineView } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { api, useLive } from '../live.ts';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { type Draft, EntryDialog } from './entry-dialog.tsx';
import { EntryList, KINDS } from './entry-list.tsx';
import { RepairArticle } from './repair-article.tsx';
import { byRepairs, standingEntries } from './repairs.ts';
import './log.css';

export default function LogPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Log">
      {(machine) => <Log machine={machine} query={query} />}
    </WithMachine>
  );
}

const NO_LOG: readonly LogEntryView[] = [];

function Log({ machine, query }: { readonly machine: MachineView; readonly query: URLSearchParams }) {
  const id = String(machine.id);
  const unit = query.get('unit') ?? '';
  const kind = query.get('kind') ?? '';
  const search = query.get('search') ?? '';
  const { value: log, problem } = useLive(api.machines[':id'].log, {
    param: { id },
    query: { ...(unit && { unit }), ...(search && { search }) },
  });
  const [draft, setDraft] = useState<Draft>();
  const move = (change: Record<string, string>) => {
    const to = { unit, kind, search, ...change };
    const given = Object.entries(to).filter(([, value]) => value !== '');
    go(address(`/m/${encodeURIComponent(id)}/log`, Object.fromEntries(given)), { replace: true });
  };
  const write = (with_: Draft = {}) => setDraft({ ...(unit && { unit }), ...with_ });
  const toSearch = () => document.getElementById('log-search')?.focus();
  useKeys({ n: () => write(), '/': toSearch }, draft === undefined);

  // While another search is on its way, what was found last stays.
  const last = useRef(NO_LOG);
  if (log) last.current = log;
  const entries = last.current;
  const { repairs, loose } = byRepairs(entries);
  // Found among the entries, a repair would be one in pieces: then they stand by themselves.
  const flat = kind !== '' || search !== '';
  const found = standingEntries(entries)
    .filter(({ entry }) => kind === '' || entry.kind === kind)
    .reverse();
  return (
    <Frame
      title={`Log of ${machine.name}`}
      machine={{ id, name: machine.name }}
      keys={[
        { caps: ['N'], does: 'write an entry', foot: true, press: () => write() },
        { caps: ['/'], does: 'search', foot: true, press: toSearch },
      ]}
      end={log && `${standingEntries(entries).length} entries`}
    >
      <div className="page-body log">
        <div className="log-head">
          <h1>Log</h1>
          <search className="log-filters">
            <label>
              <span className="label">Unit</span>
              <select
                className="choice"
                value={unit}
                onChange={(event) => move({ unit: event.target.value })}
              >
                <option value="">all units</option>
                {machine.units.map((one) => (
                  <option key={one.id}>{one.id}</option>
                ))}
              </select>
            </label>
            <label>
              <span className="label">Kind</span>
              <select
                className="choice"
                value={kind}
                onChange={(event) => move({ kind: event.target.value })}
              >
                <option value="">all kinds</option>
                {KINDS.map((one) => (
                  <option key={one}>{one}</option>
                ))}
              </select>
            </label>
            <label className="log-search">
              <span className="label">Search</span>
              <input
                id="log-search"
                className="choice"
                type="search"
                value={search}
                autoComplete="off"
                onChange={(event) => move({ search: event.target.value })}
              />
            </label>
          </search>
          <button type="button" className="button main" onClick={() => write()}>
            Write an entry
          </button>
        </div>
        {problem && <p className="refusal">{problem.message}</p>}
        {log && entries.length === 0 && !flat && <Empty />}
        {flat ? (
          <section aria-label="Entries found">
            <p className="label" role="status">
              {found.length === 1 ? '1 entry' : `${found.length} entries`} found
            </p>
            <EntryList machine={machine} entries={found} withUnit={unit === ''} onCorrect={setDraft} />
          </section>
        ) : (
          <>
            {repairs.map((repair) => (
              <RepairArticle key={repair.key} machine={machine} repair={repair} onWrite={setDraft} />
            ))}
            {loose.length > 0 && (
              <section className="repair" aria-label="Outside any repair">
                <h2>{repairs.length > 0 ? 'Outside any repair' : 'Entries'}</h2>
                <EntryList machine={machine} entries={loose} withUnit={unit === ''} onCorrect={setDraft} />
              </section>
            )}
          </>
        )}
      </div>
      {draft && <EntryDialog machine={machine} draft={draft} onClose={() => setDraft(undefined)} />}
    </Frame>
  );
}

function Empty() {
  return (
    <div className="log-empty">
      <p className="state-name">Nothing is written down yet.</p>
      <p className="prose">
        Begin with the symptom: what the unit does, and what it should do. That opens a repair. What you find
        and what you change belong to it, and the points that are back within the sound spread close it.
      </p>
    </div>
  );
}
