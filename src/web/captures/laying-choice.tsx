import type { Laying } from './use-twins.ts';

/** How the second capture is laid on the first, and how far their clocks may differ. */
export function LayingChoice({
  laying,
  onChange,
}: {
  readonly laying: Laying;
  readonly onChange: (change: Partial<Laying>) => void;
}) {
  return (
    <>
      <label>
        <span className="label">Laid on each other by</span>
        <select
          className="choice"
          value={laying.how}
          onChange={({ target }) => onChange({ how: target.value as Laying['how'] })}
        >
          <option value="trigger">the trigger</option>
          <option value="edges">their edges</option>
          <option value="likeness">likeness</option>
        </select>
      </label>
      {laying.how !== 'trigger' && (
        <label>
          <span className="label">Clocks</span>
          <select
            className="choice"
            value={String(laying.rate)}
            onChange={({ target }) => onChange({ rate: Number(target.value) })}
          >
            <option value="0">alike</option>
            <option value="0.001">up to 0.1 % apart</option>
            <option value="0.01">up to 1 % apart</option>
            <option value="0.05">up to 5 % apart</option>
          </select>
        </label>
      )}
    </>
  );
}
