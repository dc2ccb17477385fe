/** What is chosen on the bench: board, units, the state that the machine is in. */

import type { MachineView } from '../../server/index.ts';
import { DotMark, RingMark } from '../marks.tsx';

/** Another unit, another healthy unit to compare with, another state. */
export interface Move {
  readonly unit?: string;
  readonly against?: string | undefined;
  readonly state?: string;
}

export function Legend({
  machine,
  unit,
  against,
  board,
  healthy,
  onMove,
  onBoard,
}: {
  readonly machine: MachineView;
  readonly unit: string;
  readonly against: string | undefined;
  readonly board: string | undefined;
  readonly healthy: readonly string[];
  readonly onMove: (change: Move) => void;
  readonly onBoard: (board: string | undefined) => void;
}) {
  const others = machine.units.filter(({ id }) => id !== unit);
  return (
    <>
      <label className="legend-choice board-choice">
        <span className="aside">Board</span>
        <select value={board ?? ''} onChange={(event) => onBoard(event.target.value || undefined)}>
          <option value="">all boards</option>
          {machine.boards.map(({ name }) => (
            <option key={name} value={name}>
              board {name}
            </option>
          ))}
        </select>
      </label>
      {others.length > 0 && (
        <label className="legend-choice">
          <RingMark />
          <span className="aside">Healthy unit</span>
          <select
            value={against ?? ''}
            onChange={(event) => onMove({ against: event.target.value || undefined })}
          >
            <option value="">{healthy.length === 1 ? healthy[0] : 'all healthy units'}</option>
            {others.map(({ id, health }) => (
              <option key={id} value={id}>
                {id === against ? id : `${id}, ${health}`}
              </option>
            ))}
          </select>
          <span className="health">{machine.units.find(({ id }) => id === healthy[0])?.health}</span>
        </label>
      )}
      <label className="legend-choice">
        <DotMark />
        <span className="aside">Unit to read</span>
        <select value={unit} onChange={(event) => onMove({ unit: event.target.value, against: undefined })}>
          {machine.units.map(({ id, health }) => (
            <option key={id} value={id}>
              {id === unit ? id : `${id}, ${health}`}
            </option>
          ))}
        </select>
        <span className="health">{machine.units.find(({ id }) => id === unit)?.health}</span>
      </label>
    </>
  );
}

export function StateChoice({
  names,
  state,
  onState,
}: {
  readonly names: readonly string[];
  readonly state: string;
  readonly onState: (state: string) => void;
}) {
  return (
    <label className="state-choice">
      <span className="aside">State of the machine</span>
      <select value={state} onChange={(event) => onState(event.target.value)}>
        {names.map((name) => (
          <option key={name} value={name}>
            {name === state ? 'stays as it is' : `change to ${name}`}
          </option>
        ))}
      </select>
    </label>
  );
}
