/** Unit, state, instrument, date and note of a capture, as fields. */

import { useId } from 'react';
import type { MachineView } from '../../server/index.ts';
import type { Facts } from './captures-api.ts';

export function FactsFields({
  machine,
  facts,
  instruments,
  onChange,
}: {
  readonly machine: MachineView;
  readonly facts: Facts;
  /** Those of earlier captures. */
  readonly instruments: readonly string[];
  readonly onChange: (change: Partial<Facts>) => void;
}) {
  const list = useId();
  const states = [...new Set([...machine.states.map(({ name }) => name), facts.state].filter(Boolean))];
  const known = [...new Set([...instruments, ...machine.instruments.map(({ id }) => id)])];
  return (
    <div className="waves-facts">
      <label>
        <span className="label">Unit</span>
        <select
          className="choice"
          value={facts.unit}
          onChange={({ target }) => onChange({ unit: target.value })}
        >
          <option value="">not said</option>
          {machine.units.map(({ id, health }) => (
            <option key={id} value={id}>
              {health === 'unknown' ? id : `${id}, ${health}`}
            </option>
          ))}
        </select>
      </label>
      <label>
        <span className="label">State of the machine</span>
        <select
          className="choice"
          value={facts.state}
          onChange={({ target }) => onChange({ state: target.value })}
        >
          <option value="">not said</option>
          {states.map((state) => (
            <option key={state}>{state}</option>
          ))}
        </select>
      </label>
      <label>
        <span className="label">Instrument</span>
        <input
          className="choice"
          list={list}
          value={facts.instrument}
          onChange={({ target }) => onChange({ instrument: target.value })}
        />
        <datalist id={list}>
          {known.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      </label>
      <label>
        <span className="label">Taken on</span>
        <input
          type="date"
          className="choice"
          value={facts.takenAt.slice(0, 10)}
          onChange={({ target }) => onChange({ takenAt: target.value })}
        />
      </label>
      <label className="waves-note">
        <span className="label">Note</span>
        <input
          className="choice"
          value={facts.note}
          onChange={({ target }) => onChange({ note: target.value })}
        />
      </label>
    </div>
  );
}

/** Points of the machine, for fields that complete them. */
export function PointsList({ machine, id }: { readonly machine: MachineView; readonly id: string }) {
  return (
    <datalist id={id}>
      {machine.points.map(({ point, note }) => (
        <option key={point} value={point}>
          {note}
        </option>
      ))}
    </datalist>
  );
}
