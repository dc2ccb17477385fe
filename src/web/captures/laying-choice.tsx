import { useState } from 'react';
import { parseValue } from '../../quantity/index.ts';
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
      <Tolerance unit="V" label="Levels within" onChange={(volts) => onChange({ volts })} />
      <Tolerance unit="s" label="Edges within" onChange={(seconds) => onChange({ seconds })} />
    </>
  );
}

/** What is no difference yet; empty for what noise and resolution make of it. */
function Tolerance({
  unit,
  label,
  onChange,
}: {
  readonly unit: 'V' | 's';
  readonly label: string;
  readonly onChange: (value: number | undefined) => void;
}) {
  const [text, setText] = useState('');
  const value = parseValue(text, { unit, decimalComma: true });
  const wrong = text.trim() !== '' && !(value.ok && value.value >= 0);
  const keep = (): void => {
    if (text.trim() === '') onChange(undefined);
    else if (value.ok && value.value >= 0) onChange(value.value);
  };
  return (
    <label className="waves-tolerance">
      <span className="label">{label}</span>
      <input
        className="choice"
        placeholder="noise"
        value={text}
        aria-invalid={wrong}
        onChange={({ target }) => setText(target.value)}
        onBlur={keep}
        onKeyDown={({ key }) => key === 'Enter' && keep()}
      />
      {wrong && <span className="waves-fault">{unit === 'V' ? 'volts, as 50 mV' : 'seconds, as 2 us'}</span>}
    </label>
  );
}
