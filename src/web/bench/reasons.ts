/** Why a suspect is one, in sentences that can be checked with the probe in hand. */

import type { ReasonView, SuspectView } from '../../server/index.ts';
import { spreads, volts } from '../strip/index.ts';

/** Spreads of a reading from what a sound unit and from what the fault would show. */
export function offsOf({ value, sound, soundSigma, fault, faultSigma }: ReasonView): {
  sound: number;
  fault: number;
} {
  return {
    sound: soundSigma > 0 ? Math.abs(value - sound) / soundSigma : 0,
    fault: faultSigma > 0 ? Math.abs(value - fault) / faultSigma : 0,
  };
}

/** A weight below this, in natural logarithms, speaks neither for nor against: odds of about three to two. */
const MUTE = 0.4;

export interface Reasons {
  readonly for: readonly ReasonView[];
  readonly against: readonly ReasonView[];
}

/** Strongest first on both sides. */
export function weighed(reasons: readonly ReasonView[]): Reasons {
  const strongest = [...reasons].sort((a, b) => Math.abs(b.weight) - Math.abs(a.weight));
  return {
    for: strongest.filter(({ weight }) => weight > MUTE),
    against: strongest.filter(({ weight }) => weight < -MUTE),
  };
}

/** What stands first in the reasons, in one sentence or two. */
export function whySentences(suspect: SuspectView, state: string): string[] {
  const { for: pro, against } = weighed(suspect.reasons);
  const [first] = pro;
  const sentences: string[] = [];
  if (!first) {
    sentences.push('No reading speaks for it yet; it is here because such parts fail.');
  } else {
    sentences.push(
      first.wave
        ? `${first.wave.quantity} of ${first.point}${stateWords(first.state, state)}: ${first.wave.value}; ` +
            `a sound unit would show ${first.wave.sound}, this fault ${first.wave.fault}.`
        : `${first.point} reads ${volts(first.value)} V${stateWords(first.state, state)}: ` +
            `a sound unit would read ${volts(first.sound)}, this fault ${volts(first.fault)}.`,
    );
    const more = pro.length - 1;
    if (more > 0)
      sentences.push(`${more === 1 ? 'One more reading speaks' : `${more} more readings speak`} for it.`);
  }
  // A reading that fits both speaks against it by its odds alone; in words that would only puzzle.
  const contrary = against.find((reason) => offsOf(reason).fault >= 2);
  if (contrary) {
    sentences.push(
      `Against it: ${contrary.point} ${
        contrary.wave
          ? `${contrary.wave.quantity} is ${contrary.wave.value}`
          : `reads ${volts(contrary.value)} V`
      }${stateWords(contrary.state, state)}, ` +
        `${spreads(offsOf(contrary).fault)} spreads from what this fault would show.`,
    );
  }
  return sentences;
}

function stateWords(state: string, here: string): string {
  return state === here ? '' : ` in ${state}`;
}

/** The part by its name, or both parts; the type and mode in words stand beside it. */
export function suspectName({ parts }: Pick<SuspectView, 'parts'>): string {
  return parts.join(' and ');
}
