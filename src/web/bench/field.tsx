import type { Ref } from 'react';
import { DotMark, RingMark } from '../marks.tsx';
import { kept } from './entry.ts';

export interface FieldProps {
  readonly ref: Ref<HTMLInputElement>;
  readonly text: string;
  readonly unit: string;
  /** The field is for the healthy unit. */
  readonly twin: boolean;
  /** The value could not be kept and must not be lost. */
  readonly stuck: boolean;
  readonly wrong: boolean;
  readonly onText: (text: string) => void;
}

/** The value being entered. Its letters are keys of the page, except those that belong to a value. */
export function Field({ ref, text, unit, twin, stuck, wrong, onText }: FieldProps) {
  return (
    <label className={`value-field ${twin ? 'for-twin' : ''}`}>
      <span className="value-unit">
        <span>
          {twin ? <RingMark /> : <DotMark />} {unit}
        </span>
        {twin && <span>healthy</span>}
      </span>
      <input
        ref={ref}
        className={text === '' ? 'empty' : text.length > 6 ? 'longer' : undefined}
        data-keys="page"
        aria-label={`Reading of ${unit}, volts`}
        aria-invalid={wrong}
        inputMode="decimal"
        enterKeyHint="done"
        autoComplete="off"
        autoCorrect="off"
        spellCheck={false}
        value={text}
        readOnly={stuck}
        onChange={(event) => onText(kept(event.target.value))}
      />
      <span className="value-volts">V</span>
    </label>
  );
}
