/** machine.json: name, summary, reference, room; rails, units and meters in grids. */

import { useEffect, useId, useRef, useState } from 'react';
import type { HeadView } from '../../server/index.ts';
import { api, outdateMachine, type Problem, told, useLive } from '../live.ts';
import { columnWidth } from './columns.ts';
import { Grid } from './grid.tsx';
import {
  HEAD_LISTS,
  type HeadJson,
  type HeadList,
  listCells,
  textOf,
  withEntries,
  withoutEntries,
  withText,
} from './head-edit.ts';
import { listNotes } from './notes.ts';
import { TroubleList } from './trouble-list.tsx';

type Apply = (json: HeadJson) => HeadJson;

interface Clash {
  readonly field: string;
  readonly apply: Apply;
  readonly what: string;
}

const FIELDS = [
  { field: 'name', label: 'Name' },
  { field: 'summary', label: 'What it does' },
  { field: 'reference', label: 'Every voltage is measured against' },
  { field: 'ambient', label: 'Room, °C, where a reading does not say' },
] as const;

const TITLES = { rails: 'Rails', units: 'Units', instruments: 'Meters' } as const;

export function MachineSheet({ machine }: { readonly machine: string }) {
  const { head, json, problem, clash, edit, settle } = useHead(machine);
  const [said, say] = useState('');
  if (!head || !json)
    return <p className={problem ? 'refusal' : 'label'}>{problem?.message ?? 'Reading the machine'}</p>;
  const undo = async () => {
    const outcome = await told(api.machines[':id'].undo.$post({ param: { id: machine } }));
    say(outcome.ok && outcome.value ? `Taken back: ${outcome.value.what}` : 'There is nothing to take back');
  };
  return (
    <div className="machine-sheet">
      {problem && (
        <p className="refusal" role="alert">
          Not kept: {problem.message}
        </p>
      )}
      {clash && (
        <section className="conflict" role="alert">
          <h2>{`“${clash.field}” was changed elsewhere while you wrote. Nothing is overwritten yet.`}</h2>
          <table>
            <tbody>
              <tr>
                <th scope="row" className="label">
                  now on record
                </th>
                <td>{valueWords(json[clash.field])}</td>
              </tr>
              <tr>
                <th scope="row" className="label">
                  yours
                </th>
                <td>
                  <b>{valueWords(clash.apply(json)[clash.field])}</b>
                </td>
              </tr>
            </tbody>
          </table>
          <div className="form-end">
            <button type="button" className="button" onClick={() => settle('theirs')}>
              Leave what is on record
            </button>
            <button type="button" className="button main" onClick={() => settle('mine')}>
              Write mine over it
            </button>
          </div>
        </section>
      )}
      <TroubleList findings={head.findings} onGo={() => undefined} />
      <div className="machine-fields">
        {FIELDS.map(({ field, label }) => (
          <TextField
            key={field}
            label={label}
            value={textOf(json[field])}
            onWrite={(text) =>
              edit(field, (now) => withText(now, field, text), `${label.toLowerCase()}: ${text}`)
            }
          />
        ))}
      </div>
      {HEAD_LISTS.map((list) => (
        <ListGrid
          key={list.name}
          list={list}
          json={json}
          head={head}
          edit={edit}
          onUndo={() => void undo()}
          onSay={say}
        />
      ))}
      <p role="status" className="sheet-said">
        {said}
      </p>
    </div>
  );
}

function ListGrid({
  list,
  json,
  head,
  edit,
  onUndo,
  onSay,
}: {
  readonly list: HeadList;
  readonly json: HeadJson;
  readonly head: HeadView;
  readonly edit: (field: string, apply: Apply, what: string) => void;
  readonly onUndo: () => void;
  readonly onSay: (words: string) => void;
}) {
  const cells = listCells(json, list);
  const columns = list.columns.map(({ name, title }) => ({
    name,
    title,
    width: Math.max(
      9,
      columnWidth(
        title,
        cells.map((one) => one[name]!),
      ),
    ),
    words: name === 'health' ? ['healthy', 'faulty', 'unknown'] : [],
  }));
  const title = TITLES[list.name];
  return (
    <section aria-label={title}>
      <h2>{title}</h2>
      <Grid
        label={title}
        tall={false}
        grows
        columns={columns}
        rows={cells.map((one, i) => ({ key: String(i), head: String(i + 1), cells: one }))}
        notes={listNotes(head.findings, list.name)}
        onWrite={(writes) => {
          const [first] = writes;
          const words = Object.values(first?.cells ?? {}).join(' ');
          edit(list.name, (now) => withEntries(now, list, writes), `${list.name}: ${words}`.slice(0, 200));
          return writes.map(({ at }) => String(at));
        }}
        onRemove={(from, to) =>
          edit(list.name, (now) => withoutEntries(now, list, from, to), `${list.name}: one less`)
        }
        onUndo={onUndo}
        onSay={onSay}
      />
    </section>
  );
}

function TextField({
  label,
  value,
  onWrite,
}: {
  readonly label: string;
  readonly value: string;
  readonly onWrite: (text: string) => void;
}) {
  const id = useId();
  const [text, setText] = useState<string>();
  const write = () => {
    if (text !== undefined && text.trim() !== value) onWrite(text.trim());
    setText(undefined);
  };
  return (
    <div className="entry wide">
      <label className="label" htmlFor={id}>
        {label}
      </label>
      <input
        id={id}
        value={text ?? value}
        autoComplete="off"
        onChange={({ target }) => setText(target.value)}
        onBlur={write}
        onKeyDown={({ key }) => {
          if (key === 'Enter') write();
          else if (key === 'Escape') setText(undefined);
        }}
      />
    </div>
  );
}

/** The head as it stands with what is being kept; writes go out one after the other. */
function useHead(machine: string) {
  const live = useLive(api.machines[':id'].head, { param: { id: machine } });
  const [ahead, setAhead] = useState<HeadJson>();
  const [problem, setProblem] = useState<Problem>();
  const [clash, setClash] = useState<Clash>();
  const latest = useRef<{ readonly version: number; readonly json: HeadJson }>(undefined);
  const line = useRef<Promise<void>>(Promise.resolve());
  const waiting = useRef(0);
  useEffect(() => {
    if (live.value && waiting.current === 0) latest.current = live.value;
  }, [live.value]);

  const send = async (field: string, apply: Apply, what: string): Promise<void> => {
    const from = latest.current;
    if (from === undefined) return;
    const json = apply(from.json) as Record<string, unknown>;
    const request = { param: { id: machine }, json: { version: from.version, json, what } };
    const outcome = await told(api.machines[':id'].head.$patch(request));
    if (outcome.ok) {
      latest.current = outcome.value;
      setProblem(undefined);
      return;
    }
    const now = outcome.problem.code === 'conflict' ? (outcome.problem.now as typeof from | null) : null;
    if (now) {
      latest.current = now;
      // Somebody changed something else: what was written here still holds.
      if (JSON.stringify(now.json[field]) === JSON.stringify(from.json[field]))
        await send(field, apply, what);
      else setClash({ field, apply, what });
    } else setProblem(outcome.problem);
  };
  const edit = (field: string, apply: Apply, what: string) => {
    waiting.current += 1;
    setAhead((before) => apply(before ?? latest.current?.json ?? {}));
    line.current = line.current
      .then(() => send(field, apply, what))
      .finally(() => {
        waiting.current -= 1;
        if (waiting.current === 0) setAhead(latest.current?.json);
        outdateMachine(machine);
      });
  };
  const settle = (whose: 'mine' | 'theirs') => {
    setClash(undefined);
    if (clash && whose === 'mine') edit(clash.field, clash.apply, clash.what);
  };
  // What the server answered last holds until something newer has been asked for.
  const value = live.value;
  useEffect(() => {
    if (value && waiting.current === 0) setAhead(undefined);
  }, [value]);
  return { head: value, json: ahead ?? value?.json, problem: problem ?? live.problem, clash, edit, settle };
}

function valueWords(value: unknown): string {
  if (value === undefined || value === '') return 'empty';
  return typeof value === 'object' ? JSON.stringify(value).replaceAll(/["[\]{}]/g, ' ') : String(value);
}
