/** The trade's words for what the folder writes in short. */

import type { Suspect } from '../diagnosis/index.ts';
import { type Machine, type PartKind, partNamed } from '../machine/index.ts';

/** How far off is what: below 2 spreads sound, from 4 on it departs, doubtful between. */
export type Verdict = 'sound' | 'doubtful' | 'departs';

export function verdict(z: number): Verdict {
  const off = Math.abs(z);
  return off >= 4 ? 'departs' : off >= 2 ? 'doubtful' : 'sound';
}

const MODES: Readonly<Record<string, string>> = {
  open: 'open',
  short: 'short',
  high: 'gone high',
  leaky: 'leaky',
  'open-w': 'wiper open',
  'open-b': 'base open inside the case',
  'open-c': 'collector open inside the case',
  'open-e': 'emitter open inside the case',
  'short-ce': 'short, collector to emitter',
  'short-be': 'short, base to emitter',
  'short-bc': 'short, base to collector',
  'leaky-bc': 'leaky, base to collector',
  'leaky-ce': 'leaky, collector to emitter',
  'low-gain': 'low gain',
  slow: 'slow: stores too much',
  'low-capacitance': 'has lost capacitance',
  stage: 'bad inside: good inputs, bad output',
};

/** A failure mode in words: `short, collector to emitter`. A connector has contacts where other parts have joints. */
export function modeWords(mode: string, kind?: PartKind): string {
  const known = MODES[mode];
  if (known !== undefined) return known;
  const [way, where] = [mode.slice(0, mode.indexOf(':')), mode.slice(mode.indexOf(':') + 1)];
  if (way === 'open-joint')
    return kind === 'connector' ? `no contact at pin ${where}` : `joint open at pin ${where}`;
  if (way === 'open' || way === 'short') return `winding ${where} ${way === 'open' ? 'open' : 'short'}`;
  return mode;
}

/** `QWP11, short, collector to emitter, about 1.4 Ω`; without the severity for two parts. */
export function suspectWords(
  machine: Machine,
  { parts, modes, severity }: Pick<Suspect, 'parts' | 'modes' | 'severity'>,
): string {
  const words = parts.map((name, i) => {
    const part = partNamed(machine, name);
    return [part?.type || part?.kind, modeWords(modes[i]!, part?.kind)].filter(Boolean).join(', ');
  });
  return words.join('; ') + (severity === '' || parts.length > 1 ? '' : `, about ${severity}`);
}
