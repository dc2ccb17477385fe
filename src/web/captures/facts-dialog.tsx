import { type FormEvent, useState } from 'react';
import type { CaptureEntry, MachineView } from '../../server/index.ts';
import { Dialog } from '../dialog.tsx';
import { changeCapture, type Facts } from './captures-api.ts';
import { FactsFields, PointsList } from './facts-fields.tsx';

/** What is known of a capture that is kept: unit, state, and the point of each channel. */
export function FactsDialog({
  machine,
  entry,
  instruments,
  onClose,
}: {
  readonly machine: MachineView;
  readonly entry: CaptureEntry;
  readonly instruments: readonly string[];
  readonly onClose: () => void;
}) {
  const { unit, state, takenAt, instrument, note } = entry;
  const [facts, setFacts] = useState<Facts>({ unit, state, takenAt, instrument, note });
  const [points, setPoints] = useState(entry.channels.map(({ point }) => point));
  const [wrong, setWrong] = useState('');
  const known = new Set(machine.points.map(({ point }) => point));
  const keep = async (event: FormEvent): Promise<void> => {
    event.preventDefault();
    const astray = points.find((point) => point.trim() !== '' && !known.has(point.trim()));
    if (astray !== undefined) {
      setWrong(`There is no point ${astray} on this machine.`);
      return;
    }
    const problem = await changeCapture(machine.id, entry, {
      ...facts,
      points: points.map((point) => point.trim()),
    });
    if (problem) setWrong(`Not kept: ${problem.message}`);
    else onClose();
  };
  return (
    <Dialog title={entry.file} className="waves-import" onClose={onClose}>
      <form onSubmit={keep}>
        <FactsFields
          machine={machine}
          facts={facts}
          instruments={instruments}
          onChange={(change) => setFacts({ ...facts, ...change })}
        />
        <fieldset className="waves-points">
          <legend className="label">Which point each channel was on</legend>
          <PointsList machine={machine} id="waves-points-kept" />
          {entry.channels.map(({ index, name }, i) => (
            <label key={index}>
              <span>{name || `channel ${index + 1}`}</span>
              <input
                className="choice"
                list="waves-points-kept"
                value={points[i]}
                onChange={({ target }) =>
                  setPoints(points.map((point, k) => (k === i ? target.value : point)))
                }
              />
            </label>
          ))}
        </fieldset>
        <p className="refusal" role="alert">
          {wrong}
        </p>
        <div className="waves-end">
          <button type="submit" className="button main">
            Keep it
          </button>
          <button type="button" className="button" onClick={onClose}>
            Leave it
          </button>
        </div>
      </form>
    </Dialog>
  );
}
