import type { UnitSymbol } from '../quantity/index.ts';

/** What a reading is of. */
export interface Quantity {
  /** `V`, `ohm`, or the name of what is told of a waveform; of a delay `delay`. */
  readonly name: string;
  /** Of its values; left out for `moves`, which is 0 or 1. */
  readonly unit?: UnitSymbol;
  /** In which states it is read. `either` is kept and weighed in running ones. */
  readonly states: 'static' | 'running' | 'either';
  /** Of a delay: the point from whose edge it counts. */
  readonly from?: string;
}

const KNOWN: readonly Quantity[] = [
  { name: 'V', unit: 'V', states: 'static' },
  { name: 'ohm', unit: 'Ω', states: 'either' },
  { name: 'high', unit: 'V', states: 'running' },
  { name: 'low', unit: 'V', states: 'running' },
  { name: 'average', unit: 'V', states: 'running' },
  { name: 'Vpp', unit: 'V', states: 'either' },
  { name: 'width', unit: 's', states: 'running' },
  { name: 'period', unit: 's', states: 'running' },
  { name: 'Hz', unit: 'Hz', states: 'either' },
  { name: 'rise', unit: 's', states: 'running' },
  { name: 'fall', unit: 's', states: 'running' },
  { name: 'delay', unit: 's', states: 'running' },
  { name: 'moves', states: 'running' },
  { name: 's', unit: 's', states: 'either' },
];
const BY_NAME: ReadonlyMap<string, Quantity> = new Map(KNOWN.map((quantity) => [quantity.name, quantity]));
const DELAY = 'delay:';

/** As they are written in readings.csv, for messages and lists to choose from. */
export const QUANTITIES: readonly string[] = KNOWN.map(({ name }) =>
  name === 'delay' ? `${DELAY}POINT` : name,
);
/** Those that are told of a waveform, `delay:POINT` among them. */
export const RUNNING_QUANTITIES: readonly string[] = QUANTITIES.filter(
  (_, i) => KNOWN[i]!.states === 'running' || ['Vpp', 'Hz'].includes(KNOWN[i]!.name),
);

/** The quantity that a text such as `high` or `delay:CP` names; `undefined` when it is none. */
export function quantityOf(text: string): Quantity | undefined {
  if (text.startsWith(DELAY)) {
    const from = text.slice(DELAY.length).trim();
    return from === '' ? undefined : { ...BY_NAME.get('delay')!, from };
  }
  return text === 'delay' ? undefined : BY_NAME.get(text);
}
