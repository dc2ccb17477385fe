/** A part and how it has failed, of all parts of a machine. */

import { useId, useState } from 'react';
import { failureRates } from '../../faults/index.ts';
import { PART_KINDS, type Part } from '../../machine/index.ts';
import { parseValue } from '../../quantity/index.ts';
import { api, useLive } from '../live.ts';

export function FaultChoice({
  machine,
  fault,
  onFault,
}: {
  readonly machine: string;
  /** `PART:MODE`; empty for none. */
  readonly fault: string;
  readonly onFault: (fault: string) => void;
}) {
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
  return (
    <>
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
    </>
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
