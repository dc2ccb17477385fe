import { useState } from 'react';
import { FaultChoice } from '../bench/fault-choice.tsx';
import { api, useLive } from '../live.ts';

/** Suspects that are offered. */
const OFFERED = 8;

/** What if: the waveforms of a sound unit, and under a fault beside them; one of the suspects, or any other. */
export function ExpectedChoice({
  machine,
  unit,
  fault,
  onFault,
}: {
  readonly machine: string;
  /** Whose suspects are offered; none where empty. */
  readonly unit: string;
  readonly fault: string;
  readonly onFault: (fault: string) => void;
}) {
  const { value } = useLive(
    api.machines[':id'].suspects,
    unit === '' ? undefined : { param: { id: machine }, query: { unit } },
  );
  const suspects = (value?.suspects ?? []).filter(({ parts }) => parts.length === 1).slice(0, OFFERED);
  const [other, setOther] = useState(false);
  const listed = suspects.some(({ key }) => key === fault);
  const open = other || (fault !== '' && !listed);
  return (
    <>
      <label>
        <span className="label">What if</span>
        <select
          className="choice"
          value={open ? 'other' : fault}
          onChange={({ target }) => {
            setOther(target.value === 'other');
            onFault(target.value === 'other' ? '' : target.value);
          }}
        >
          <option value="">nothing has failed</option>
          {suspects.map(({ key, parts, words, probability }) => (
            <option key={key} value={key}>
              {parts[0]}, {words} ({Math.round(100 * probability)} %)
            </option>
          ))}
          <option value="other">another part</option>
        </select>
      </label>
      {open && <FaultChoice machine={machine} fault={fault} onFault={onFault} />}
    </>
  );
}
