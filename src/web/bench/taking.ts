/** Taking readings, and what is said about it. */

import { useRef, useState } from 'react';
import type { TakenView } from '../../server/index.ts';
import { api, outdateMachine, type Problem, told } from '../live.ts';

/** A refusal of what was typed can be mended in the field; anything else must not cost the value. */
const OF_THE_VALUE =
  /^(bad-|empty|too-long|not-a-|decimal|two-|inner-|exponent|unknown-|unexpected|wrong-|prefix|out-of)/;

export interface Taking {
  /** In words, for the person and for the ear. */
  readonly said: string;
  /** The value could not be kept; it stands in the field and cannot be typed over. */
  readonly stuck: boolean;
  readonly busy: boolean;
  /** What was asked of the machine is to be asked anew by whoever takes, once the page is past the value. */
  take(reading: { unit: string; state: string; point: string; text: string }): Promise<TakenView | undefined>;
  withdraw(reading: number, point: string): Promise<boolean>;
  /** Says something else, or nothing. */
  say(text: string): void;
  /** Gives up a value that could not be kept. */
  letGo(): void;
}

export function useTaking(machine: number): Taking {
  const [said, say] = useState('');
  const [stuck, setStuck] = useState(false);
  const [busy, setBusy] = useState(false);
  const running = useRef(false);
  const id = String(machine);

  const once = async <T>(work: () => Promise<T>): Promise<T | undefined> => {
    // A second press while the first is on its way must not take the value twice.
    if (running.current) return undefined;
    running.current = true;
    setBusy(true);
    try {
      return await work();
    } finally {
      running.current = false;
      setBusy(false);
    }
  };
  const refused = (problem: Problem) => {
    const mendable = OF_THE_VALUE.test(problem.code);
    setStuck(!mendable);
    say(
      mendable
        ? problem.message
        : `Not kept: ${problem.message.replace(/\.?$/, '.')} The value is still in the field.`,
    );
  };

  return {
    said,
    stuck,
    busy,
    say,
    letGo: () => {
      setStuck(false);
      say('');
    },
    take: ({ unit, state, point, text }) =>
      once(async () => {
        const json = { unit, state, point, quantity: 'V' as const, text };
        const outcome = await told(api.machines[':id'].readings.$post({ param: { id }, json }));
        if (!outcome.ok) {
          refused(outcome.problem);
          return undefined;
        }
        setStuck(false);
        say(`${point}: taken and kept, ${clock()}.`);
        return outcome.value;
      }),
    withdraw: async (reading, point) => {
      const done = await once(async () => {
        const param = { id, reading: String(reading) };
        const outcome = await told(api.machines[':id'].readings[':reading'].withdraw.$post({ param }));
        if (outcome.ok) outdateMachine(machine, outcome.value.id);
        say(
          outcome.ok
            ? `${point}: taken back. It stays in the history.`
            : `Not taken back: ${outcome.problem.message}`,
        );
        return outcome.ok;
      });
      return done === true;
    },
  };
}

function clock(): string {
  return new Date().toLocaleTimeString([], { hour: '2-digit', minute: '2-digit', hour12: false });
}
