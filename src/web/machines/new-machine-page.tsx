/** A machine from nothing, in the order in which one would say it; nothing that was typed is lost when something is wrong. */

import { createContext, type ReactNode, useContext, useId, useRef, useState } from 'react';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { api, told } from '../live.ts';
import { go } from '../router.ts';
import { contacts } from './contacts.ts';
import {
  type BoardDraft,
  type Draft,
  EMPTY_BOARD,
  EMPTY_DRAFT,
  type Health,
  newMachineOf,
  type Troubles,
} from './draft.ts';
import './machines.css';

const NO_TROUBLES: Troubles = new Map();
const TroublesOf = createContext<Troubles>(NO_TROUBLES);

export default function NewMachinePage() {
  const [draft, setDraft] = useState(EMPTY_DRAFT);
  const [tried, setTried] = useState(false);
  const [refusal, setRefusal] = useState('');
  const [busy, setBusy] = useState(false);
  const form = useRef<HTMLFormElement>(null);
  const made = newMachineOf(draft);
  const troubles = tried && 'troubles' in made ? made.troubles : NO_TROUBLES;
  const change = (more: Partial<Draft>) => setDraft({ ...draft, ...more });

  const make = async () => {
    setTried(true);
    if ('troubles' in made) {
      setRefusal('');
      const [first] = made.troubles.keys();
      form.current?.querySelector<HTMLElement>(`[data-path="${first}"]`)?.focus();
      return;
    }
    setBusy(true);
    const outcome = await told(api.machines.$post({ json: made.machine }));
    setBusy(false);
    if (outcome.ok) go(`/m/${outcome.value.id}/bench`);
    else setRefusal(outcome.problem.message);
  };

  return (
    <Frame title="A machine from nothing">
      <form
        className="page-body new-machine"
        ref={form}
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          if (!busy) void make();
        }}
      >
        <h1>A machine from nothing</h1>
        <p className="prose">
          What stands here is enough to compare two units: contacts and test points to read at, and a state
          that both are brought into. Parts, wiring and photographs can follow, each of them sharpens the
          answer.
        </p>
        <TroublesOf value={troubles}>
          <section>
            <h2>The machine</h2>
            <div className="entry-row two">
              <Entry
                path="name"
                label="Name"
                value={draft.name}
                onChange={(name) => change({ name })}
                autoFocus
              />
              <Entry
                path="summary"
                label="What it does, if you like"
                value={draft.summary}
                onChange={(summary) => change({ summary })}
              />
            </div>
          </section>
          <section>
            <h2>Supplies</h2>
            <Entry
              path="reference"
              label="Every voltage is measured against"
              value={draft.reference}
              onChange={(reference) => change({ reference })}
              short
            />
            <Rows
              rows={draft.rails}
              fresh={{ net: '', volts: '' }}
              noun="rail"
              onRows={(rails) => change({ rails })}
              row={(rail, at, set) => (
                <>
                  <Entry
                    path={`rails.${at}.net`}
                    label="Rail, its net"
                    hint="-12V"
                    value={rail.net}
                    onChange={(net) => set({ ...rail, net })}
                  />
                  <Entry
                    path={`rails.${at}.volts`}
                    label="volts"
                    hint="-12"
                    value={rail.volts}
                    onChange={(volts) => set({ ...rail, volts })}
                    short
                  />
                </>
              )}
            />
          </section>
          <section>
            <h2>Units</h2>
            <Rows
              rows={draft.units}
              fresh={{ id: '', health: 'unknown' as Health }}
              noun="unit"
              onRows={(units) => change({ units })}
              row={(unit, at, set) => (
                <>
                  <Entry
                    path={`units.${at}.id`}
                    label="Called, or where it stands"
                    value={unit.id}
                    onChange={(id) => set({ ...unit, id })}
                  />
                  <label className="entry">
                    <span className="label">you believe it is</span>
                    <select
                      value={unit.health}
                      onChange={({ target }) => set({ ...unit, health: target.value as typeof unit.health })}
                    >
                      <option value="healthy">healthy</option>
                      <option value="faulty">faulty</option>
                      <option value="unknown">not known</option>
                    </select>
                  </label>
                </>
              )}
            />
          </section>
          <section>
            <h2>Boards</h2>
            <p className="prose">
              Contacts as <b>1-22</b>, or a list: <b>3=STEP</b> says that contact 3 is on net STEP, a rail is
              written by its name. A net that stands on two boards joins them.
            </p>
            <Rows
              rows={draft.boards}
              fresh={EMPTY_BOARD}
              noun="board"
              onRows={(boards) => change({ boards })}
              row={(board, at, set) => <BoardEntries board={board} at={at} draft={draft} onChange={set} />}
            />
          </section>
          <section>
            <h2>States</h2>
            <p className="prose">
              How a unit is held while it is read, so that both are brought into the same one.
            </p>
            <Rows
              rows={draft.states}
              fresh={{ name: '', steps: '' }}
              noun="state"
              onRows={(states) => change({ states })}
              row={(state, at, set) => (
                <>
                  <Entry
                    path={`states.${at}.name`}
                    label="State"
                    value={state.name}
                    onChange={(name) => set({ ...state, name })}
                  />
                  <Entry
                    path={`states.${at}.steps`}
                    label="Steps in words"
                    hint="Clear, hold the 5 key."
                    value={state.steps}
                    onChange={(steps) => set({ ...state, steps })}
                    wide
                  />
                </>
              )}
            />
          </section>
        </TroublesOf>
        <p className="refusal" role="alert">
          {refusal ||
            (troubles.size > 0
              ? `${troubles.size === 1 ? 'One field is' : `${troubles.size} fields are`} to be mended first.`
              : '')}
        </p>
        <div className="form-end">
          <button type="submit" className="button main" aria-disabled={busy}>
            Make the machine
          </button>
          <Link to="/" className="button">
            Leave it
          </Link>
        </div>
      </form>
    </Frame>
  );
}

function BoardEntries({
  board,
  at,
  draft,
  onChange,
}: {
  readonly board: BoardDraft;
  readonly at: number;
  readonly draft: Draft;
  readonly onChange: (board: BoardDraft) => void;
}) {
  const known = new Set([draft.reference, ...draft.rails.map(({ net }) => net)]);
  const found = contacts(board.contacts, board.name || 'BOARD', known);
  const count = found.ok ? (found.pins.length === 0 ? '' : `${found.pins.length} contacts`) : found.reason;
  const entry = (key: keyof BoardDraft, label: string, hint?: string) => (
    <Entry
      path={`boards.${at}.${key}`}
      label={label}
      hint={hint}
      value={board[key]}
      onChange={(text) => onChange({ ...board, [key]: text })}
    />
  );
  return (
    <div className="board-entries">
      {entry('name', 'Board')}
      <div>
        {entry('contacts', 'Contacts of its connector', '1-22')}
        <p className="label entry-count" aria-live="polite">
          {count}
        </p>
      </div>
      {entry('testPoints', 'Test points', 'TP1 TP2')}
      {entry('inputs', 'Contacts where signals come in, if known')}
      {entry('outputs', 'Contacts where they go out')}
      {entry('caution', 'Caution before touching it')}
    </div>
  );
}

function Rows<T>({
  rows,
  fresh,
  noun,
  onRows,
  row,
}: {
  readonly rows: readonly T[];
  readonly fresh: T;
  readonly noun: string;
  readonly onRows: (rows: readonly T[]) => void;
  readonly row: (row: T, at: number, set: (row: T) => void) => ReactNode;
}) {
  const list = useRef<HTMLUListElement>(null);
  const add = () => {
    onRows([...rows, fresh]);
    requestAnimationFrame(() => list.current?.querySelector<HTMLElement>('li:last-child input')?.focus());
  };
  return (
    <>
      <ul className="entry-rows" ref={list}>
        {rows.map((one, at) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: rows have no name of their own until they are made
          <li key={at} className="entry-row">
            {row(one, at, (changed) => onRows(rows.with(at, changed)))}
            {rows.length > 1 && (
              <button
                type="button"
                className="button row-off"
                onClick={() => onRows(rows.filter((_, i) => i !== at))}
              >
                Leave out<span className="aside"> this {noun}</span>
              </button>
            )}
          </li>
        ))}
      </ul>
      <button type="button" className="button" onClick={add}>
        One more {noun}
      </button>
    </>
  );
}

function Entry({
  path,
  label,
  value,
  hint,
  short = false,
  wide = false,
  autoFocus = false,
  onChange,
}: {
  readonly path: string;
  readonly label: string;
  readonly value: string;
  readonly hint?: string | undefined;
  readonly short?: boolean;
  readonly wide?: boolean;
  readonly autoFocus?: boolean;
  readonly onChange: (text: string) => void;
}) {
  const id = useId();
  const trouble = useContext(TroublesOf).get(path);
  return (
    <div className={`entry ${short ? 'short' : ''} ${wide ? 'wide' : ''}`}>
      <label className="label" htmlFor={id}>
        {label}
      </label>
      <input
        id={id}
        data-path={path}
        value={value}
        placeholder={hint}
        autoComplete="off"
        spellCheck={false}
        // biome-ignore lint/a11y/noAutofocus: the page is this form, and its first field is where it begins
        autoFocus={autoFocus}
        aria-invalid={trouble !== undefined}
        aria-describedby={trouble === undefined ? undefined : `${id}-trouble`}
        onChange={({ target }) => onChange(target.value)}
      />
      {trouble !== undefined && (
        <p className="entry-trouble" id={`${id}-trouble`}>
          {trouble}
        </p>
      )}
    </div>
  );
}
