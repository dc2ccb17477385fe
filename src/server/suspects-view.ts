import { type Machine, partNamed, quantityOf } from '../machine/index.ts';
import { formatValue } from '../quantity/index.ts';
import {
  cautionAt,
  confirmation,
  modeWords,
  suspectWords,
  type TableState,
  type UnitAnswer,
  type WhatIf,
} from '../workbench/index.ts';
import type { SuspectsView, WhatIfView } from './views.ts';

/** What is read of a unit, and what it was when this was reckoned. */
interface Asked {
  readonly revision: number;
  readonly unit: string;
  readonly preview: SuspectsView['preview'];
  readonly table: TableState;
}

/** The ranking with its reasons and what to read next; all empty without an answer. */
export function suspectsView(machine: Machine, asked: Asked, answer: UnitAnswer | undefined): SuspectsView {
  if (answer === undefined) return { ...asked, ...NOTHING };
  const { diagnosis, others, next } = answer;
  return {
    ...asked,
    suspects: diagnosis.suspects.map((suspect) => ({
      key: suspect.parts.map((part, i) => `${part}:${suspect.modes[i]}`).join(' + '),
      parts: suspect.parts,
      modes: suspect.modes,
      words: suspectWords(machine, suspect),
      severity: suspect.severity,
      probability: suspect.probability,
      reasons: suspect.reasons.map(({ condition, quantity, ...reason }) => ({
        state: condition,
        ...reason,
        ...(quantity === 'V' ? {} : { wave: waveWords(quantity, reason) }),
      })),
      indistinct: suspect.indistinct,
      confirm: suspect.parts.map((part, i) => confirmation(partNamed(machine, part), suspect.modes[i]!)),
    })),
    others,
    unexplained: diagnosis.unexplained,
    sound: diagnosis.sound,
    group: diagnosis.group ?? [],
    setAside: diagnosis.setAside.map(({ condition, ...one }) => ({ state: condition, ...one })),
    drawing: diagnosis.drawing.map(({ part = '', ...one }) => ({ part, ...one })),
    notes: [...diagnosis.notes, ...waveNote(next)],
    // A level is read at the bench; what is to be looked for on an oscilloscope stands in the notes.
    next: next
      .filter(({ quantity }) => quantity === 'V')
      .map(({ condition, point, bits, minutes, would }) => ({
        state: condition,
        point,
        bits,
        minutes,
        caution: cautionAt(machine, point),
        shows: would.map(({ suspect, mean, sigma }) => ({ key: suspect, value: mean, sigma })),
      })),
  };
}

/** Figures of a waveform as people write them; a dash where it has none. */
function waveWords(
  quantity: string,
  figures: { readonly value: number; readonly sound: number; readonly fault: number },
) {
  const words = (value: number): string => {
    if (!Number.isFinite(value)) return 'none';
    if (quantity === 'moves') return value >= 0.5 ? 'moves' : 'still';
    return formatValue(value, quantityOf(quantity)?.unit ?? '', 4);
  };
  return {
    quantity,
    value: words(figures.value),
    sound: words(figures.sound),
    fault: words(figures.fault),
  };
}

/** What to look at next with an oscilloscope, where that brings more a minute than any level. */
function waveNote(next: UnitAnswer['next']): string[] {
  const [first] = next;
  if (first === undefined || first.quantity === 'V') return [];
  const { quantity, point, condition, bits } = first;
  return [
    `with an oscilloscope: ${quantity} at ${point} in ${condition} would tell most, ${bits.toFixed(2)} bits`,
  ];
}

const NOTHING = {
  suspects: [],
  others: { count: 0, probability: 0 },
  unexplained: 0,
  sound: 0,
  group: [],
  setAside: [],
  drawing: [],
  notes: [],
  next: [],
};

export function whatIfView(machine: Machine, revision: number, found: WhatIf): WhatIfView {
  const { part, mode } = found.fault;
  const kind = partNamed(machine, part);
  return {
    revision,
    part,
    mode,
    words: [kind?.type || kind?.kind, modeWords(mode, kind?.kind)].filter(Boolean).join(', '),
    rows: found.levels
      .filter(({ quantity }) => quantity === 'V')
      .map((level) => ({
        state: level.condition,
        point: level.point,
        sound: { value: level.sound, sigma: level.soundSigma },
        fault: { value: level.fault, sigma: level.faultSigma },
        off: level.off,
      })),
    noPoint: found.noPoint.map(({ condition }) => condition),
    stateLost: found.stateLost,
  };
}
