import type { MachineView } from '../../server/index.ts';
import { CautionPlate, DotMark, RingMark } from '../marks.tsx';
import type { Mark } from './marks.ts';

/** The chosen mark: its name and field, how the machine is held, what to beware of. */
export function BoardHead({
  machine,
  board,
  mark,
  label,
  field,
  exact,
  state,
  placing,
  said,
  onState,
  onRead,
  onUnplace,
}: {
  readonly machine: MachineView;
  readonly board: MachineView['boards'][number];
  readonly mark: Mark | undefined;
  readonly label: string;
  readonly field: string | undefined;
  readonly exact: boolean;
  readonly state: string | undefined;
  readonly placing: boolean;
  readonly said: string;
  readonly onState: (state: string) => void;
  readonly onRead: () => void;
  readonly onUnplace: () => void;
}) {
  const point = machine.points.find((one) => one.point === mark?.name);
  const caution = point?.caution || board.caution;
  return (
    <section className="board-head">
      <p className="label">{placing ? 'Placing' : label}</p>
      <h1 className={(mark?.short.length ?? 0) > 9 ? 'long' : ''}>
        {/* A net has no board in its name. */}
        {mark?.name !== mark?.short || mark === undefined ? (
          <>
            <span className="of-board">{board.name}</span>
            {mark && <span className="slash">/</span>}
          </>
        ) : null}
        {mark?.short} {field && <span className="field-plate">{field}</span>}
      </h1>
      {placing ? (
        <p>
          {field === undefined
            ? 'Press on the picture where it is. Arrows put it there, too.'
            : 'Press where it is, drag it, or move it with the arrows.'}
        </p>
      ) : (
        state !== undefined && (
          <p>
            <label htmlFor="board-state">with the machine at</label>{' '}
            <select
              id="board-state"
              className="board-state"
              value={state}
              onChange={({ target }) => onState(target.value)}
            >
              {machine.states.map(({ name }) => (
                <option key={name}>{name}</option>
              ))}
            </select>
          </p>
        )
      )}
      {mark && !placing && (field === undefined || !exact) && (
        <p className="label">
          {field === undefined
            ? 'not placed on this picture yet'
            : 'near this place; not placed by itself yet'}
        </p>
      )}
      {caution !== '' && <CautionPlate text={caution} />}
      <div className="head-buttons">
        {!placing && mark?.kind === 'points' && (
          <button type="button" className="button main" onClick={onRead}>
            Read it
          </button>
        )}
        {placing && field !== undefined && exact && (
          <button type="button" className="button" onClick={onUnplace}>
            Not placed after all
          </button>
        )}
      </div>
      <p role="status" className="board-said">
        {said}
      </p>
    </section>
  );
}

/** In the running head: board, unit and side, to choose from. */
export function BoardLegend({
  machine,
  board,
  unit,
  side,
  sides,
  onMove,
  onSide,
}: {
  readonly machine: MachineView;
  readonly board: string;
  readonly unit: string | undefined;
  readonly side: string;
  readonly sides: readonly (readonly [string, string])[];
  readonly onMove: (change: { unit?: string; board?: string }) => void;
  readonly onSide: (side: string) => void;
}) {
  const health = machine.units.find(({ id }) => id === unit)?.health;
  return (
    <>
      <label className="board-choice">
        <span>board</span>
        <select value={board} onChange={({ target }) => onMove({ board: target.value })}>
          {machine.boards.map(({ name }) => (
            <option key={name}>{name}</option>
          ))}
        </select>
      </label>
      <label className="board-choice">
        <span className="aside">side</span>
        <select value={side} onChange={({ target }) => onSide(target.value)}>
          {sides.map(([name, words]) => (
            <option key={name} value={name}>
              {words}
            </option>
          ))}
        </select>
      </label>
      {unit !== undefined && (
        <label className="board-choice">
          {health === 'healthy' ? <RingMark /> : <DotMark />}
          <span className="aside">unit</span>
          <select value={unit} onChange={({ target }) => onMove({ unit: target.value })}>
            {machine.units.map(({ id }) => (
              <option key={id}>{id}</option>
            ))}
          </select>
        </label>
      )}
    </>
  );
}
