/** What would be read if this part had failed so: chosen here, shown by pointers on every strip. */

import { useState } from 'react';
import type { WhatIfView } from '../../server/index.ts';
import type { Live } from '../live.ts';
import { spreads, volts } from '../strip/index.ts';
import { FaultChoice } from './fault-choice.tsx';

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
  const [cleared, setCleared] = useState(0);
  const { value, problem } = answer;
  const here = value?.rows.filter((row) => row.state === state) ?? [];
  const moved = here.filter(({ off }) => off >= 2);
  return (
    <section className="what-if" aria-label="What if">
      <h2>What if</h2>
      <FaultChoice key={cleared} machine={machine} fault={fault} onFault={onFault} />
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
          <button
            type="button"
            className="button"
            onClick={() => {
              setCleared(cleared + 1);
              onFault('');
            }}
          >
            Clear
          </button>
        </>
      )}
    </section>
  );
}
