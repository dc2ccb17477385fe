/** What would be read if this part had failed so: chosen here, shown by pointers on every strip. */

import { useId, useState } from 'react';
import { failureRates } from '../../faults/index.ts';
import { PART_KINDS, type Part } from '../../machine/index.ts';
import { parseValue } from '../../quantity/index.ts';
import type { WhatIfView } from '../../server/index.ts';
import { api, type Live, useLive } from '../live.ts';
import { spreads, volts } from '../strip/index.ts';

export interface WhatIfProps {
  readonly machine: string;
  readonly state: string;
  /** `PART:MODE`; empty for none. */
  readonly fault: string;
  readonly onFault: (fault: string) => void;
  readonly answer: Live<WhatIfView>;
  readonly onPoint: (state: string, point: string) => void;
}

/** Where the fault shows most, in so many lines. */
const LINES = 6;

export default function WhatIfPanel({ machine, state, fault, onFault, answer, onPoint }: WhatIfProps) {
  const { value: sheet } = useLive(api.machines[':id'].sheets[':sheet'], {
    param: { id: machine, sheet: 'parts' },
  });
  const parts = (sheet?.rows ?? []).flatMap(({ cells }) => partOf(cells));
  const [name, setName] = useState(fault.slice(0, fault.indexOf(':') < 0 ? undefined : fault.indexOf(':')));
  const list = useId();
  const part = parts.find((one) => one.name === name.trim());
  const modes = part ? [...failureRates(part).keys()] : [];
  const mode = part && fault.startsWith(`${part.name}:`) ? fault.slice(part.name.length + 1) : '';
  const choose = (text: string) => {
    setName(text);
    const chosen = parts.find((one) => one.name === text.trim());
    const [first] = chosen ? failureRates(chosen).keys() : [];
    onFault(chosen && first ? `${chosen.name}:${first}` : '');
  };
  const { value, problem } = answer;
  const here = value?.rows.filter((row) => row.state === state) ?? [];
  const moved = here.filter(({ off }) => off >= 2);
  return (
    <section className="what-if" aria-label="What if">
      <h2>What if</h2>
      <div className="what-if-choice">
        <label>
          <span className="label">part</span>
          <input
            className="field"
            list={list}
            value={name}
            autoComplete="off"
            spellCheck={false}
            onChange={(event) => choose(event.target.value)}
          />
        </label>
        <datalist id={list}>
          {parts.map((one) => (
            <option key={one.name} value={one.name} />
          ))}
        </datalist>
        <label>
          <span className="label">has failed by</span>
          <select
            className="choice"
            disabled={modes.length === 0}
            value={mode}
            onChange={(event) =>
              onFault(event.target.value === '' ? '' : `${part!.name}:${event.target.value}`)
            }
          >
            <option value="">choose</option>
            {modes.map((one) => (
              <option key={one} value={one}>
                {one.replace('open-joint:', 'open joint, pin ').replaceAll('-', ' ')}
              </option>
            ))}
          </select>
        </label>
      </div>
      {name !== '' && !part && parts.length > 0 && (
        <p className="label">No part of that name; write board and part.</p>
      )}
      {part && modes.length === 0 && (
        <p className="label">{part.name} has no model: nothing can be computed.</p>
      )}
      {problem && fault !== '' && <p className="refusal">{problem.message}</p>}
      {value && fault !== '' && (
        <>
          <p className="prose">
            <b>
              {value.part}, {value.words}:
            </b>{' '}
            {value.noPoint.includes(state)
              ? 'no operating point was found here, so it has no say in this state.'
              : moved.length === 0
                ? 'no point of this state would move by two spreads.'
                : `${moved.length} of ${here.length} points of this state would move; the pointers show where to.`}
          </p>
          <ul>
            {moved.slice(0, LINES).map(({ point, sound, fault: level, off }) => (
              <li key={point}>
                <button type="button" className="why-point" onClick={() => onPoint(state, point)}>
                  {point}
                </button>{' '}
                {volts(sound.value)} to <b>{volts(level.value)}</b>, {spreads(off)} spreads
              </li>
            ))}
          </ul>
          <button type="button" className="button" onClick={() => choose('')}>
            Clear
          </button>
        </>
      )}
    </section>
  );
}

/** A part as far as its failure modes ask; none where the sheet is not understood. */
function partOf(cells: Readonly<Record<string, string>>): Part[] {
  const { board = '', ref = '', type = '', note = '' } = cells;
  const kind = PART_KINDS.find((one) => one === cells.kind);
  if (!kind || ref === '') return [];
  const value = parseValue(cells.value ?? '');
  const pins = (cells.pins ?? '').split(/\s+/).flatMap((pair) => {
    const at = pair.indexOf('=');
    return at > 0 ? [{ pin: pair.slice(0, at), net: pair.slice(at + 1) }] : [];
  });
  return [
    {
      board,
      ref,
      name: `${board}/${ref}`,
      kind,
      type,
      note,
      pins,
      tolerance: 0,
      ...(value.ok ? { value: value.value } : {}),
    },
  ];
}
