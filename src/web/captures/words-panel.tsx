/** Serial words of the chosen line: how they come, what they are, and the first in which the twins part. */

import { useId, useState } from 'react';
import { parseValue } from '../../quantity/index.ts';
import { type BitDifference, COMMON_TRIGGER, type TimeMap } from '../../waveform/index.ts';
import type { Group } from './lanes.ts';
import type { DrawnWord } from './picture.ts';
import type { Reckoner } from './reckoner.ts';
import { bitSentence } from './sentences.ts';
import type { Span } from './span.ts';
import type { FrameChoice } from './work.ts';

export interface FoundWords {
  readonly first: readonly DrawnWord[];
  readonly second: readonly DrawnWord[];
  readonly differences: readonly BitDifference[];
  /** One for each difference. */
  readonly departures: readonly Span[];
  readonly sentence: string;
}

interface Typed {
  readonly clock: string;
  readonly edge: FrameChoice['edge'];
  readonly period: string;
  readonly start: string;
  readonly length: string;
  readonly order: FrameChoice['order'];
}

const USUAL: Typed = {
  clock: '',
  edge: 'falling',
  period: '',
  start: '0',
  length: '16',
  order: 'least significant first',
};

export function WordsPanel({
  reckoner,
  group,
  groups,
  map,
  second,
  onFound,
}: {
  readonly reckoner: Reckoner;
  readonly group: Group | undefined;
  readonly groups: readonly Group[];
  readonly map: TimeMap;
  /** Name of the unit that is held against the reference. */
  readonly second: string;
  readonly onFound: (words: FoundWords | undefined) => void;
}) {
  const [typed, setTyped] = useState(USUAL);
  const [said, say] = useState('');
  const status = useId();
  const line = group?.reference ?? group?.other;
  if (!line || !group) return null;
  const clocks = groups.filter((one) => one !== group && (one.reference ?? one.other));
  const read = async (): Promise<void> => {
    const frame = frameOf(typed, groups);
    if (typeof frame === 'string') {
      say(frame);
      return;
    }
    const keys = [line.key, group.other?.key, frame.clock, frame.twinClock].filter(
      (key) => key !== undefined,
    );
    const twin = group.reference && group.other ? group.other.key : undefined;
    const laid = group.reference ? map : COMMON_TRIGGER;
    const answer = await reckoner
      .ask('words', { first: line.key, second: twin, map: laid, frame }, keys)
      .catch((error: Error) => ({ fault: error.message }));
    if ('fault' in answer) {
      say(`No words: ${answer.fault}.`);
      onFound(undefined);
      return;
    }
    const [bit] = answer.differences;
    const sentence = bit
      ? bitSentence(bit, second, frame.length)
      : twin
        ? `All ${answer.count} words agree${answer.undecided > 0 ? `; ${answer.undecided} bits are not known` : ''}.`
        : `${answer.count} words.`;
    say(
      answer.count === 0 && answer.first.length === 0 ? 'No whole word was found with this frame.' : sentence,
    );
    const half = bitSeconds(answer.first) / 2;
    onFound({
      first: answer.first,
      second: answer.second,
      differences: answer.differences,
      departures: answer.differences.map(({ instant }) => ({ from: instant - half, to: instant + half })),
      sentence,
    });
  };
  const change = (part: Partial<Typed>): void => setTyped({ ...typed, ...part });
  return (
    <details className="waves-words">
      <summary>Words on {line.title}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void read();
        }}
      >
        <label>
          <span className="label">Bits come</span>
          <select
            className="choice"
            value={typed.clock}
            onChange={({ target }) => change({ clock: target.value })}
          >
            <option value="">evenly</option>
            {clocks.map((one) => {
              const { key, title } = (one.reference ?? one.other)!;
              return (
                <option key={key} value={key}>
                  with {title}
                </option>
              );
            })}
          </select>
        </label>
        {typed.clock === '' ? (
          <Field label="Seconds a bit" value={typed.period} onChange={(period) => change({ period })} />
        ) : (
          <label>
            <span className="label">at its</span>
            <select
              className="choice"
              value={typed.edge}
              onChange={({ target }) => change({ edge: target.value as Typed['edge'] })}
            >
              <option value="rising">rising edge</option>
              <option value="falling">falling edge</option>
            </select>
          </label>
        )}
        <Field label="First bit at, seconds" value={typed.start} onChange={(start) => change({ start })} />
        <Field label="Bits in a word" value={typed.length} onChange={(length) => change({ length })} />
        <label>
          <span className="label">Order</span>
          <select
            className="choice"
            value={typed.order}
            onChange={({ target }) => change({ order: target.value as Typed['order'] })}
          >
            <option>least significant first</option>
            <option>most significant first</option>
          </select>
        </label>
        <button type="submit" className="button" aria-describedby={status}>
          Read words
        </button>
      </form>
      <p id={status} role="status">
        {said}
      </p>
    </details>
  );
}

function Field({
  label,
  value,
  onChange,
}: {
  readonly label: string;
  readonly value: string;
  readonly onChange: (text: string) => void;
}) {
  return (
    <label>
      <span className="label">{label}</span>
      <input className="choice" value={value} onChange={({ target }) => onChange(target.value)} />
    </label>
  );
}

/** The frame as it was typed, or what is wrong with it. */
function frameOf(typed: Typed, groups: readonly Group[]): FrameChoice | string {
  const start = parseValue(typed.start, { unit: 's', decimalComma: true });
  if (!start.ok) return `First bit: ${start.reason}`;
  const length = Number(typed.length);
  if (!(Number.isInteger(length) && length > 0 && length <= 256))
    return 'Bits in a word: a whole number from 1 to 256';
  const common = { edge: typed.edge, start: start.value, length, order: typed.order };
  if (typed.clock === '') {
    const period = parseValue(typed.period, { unit: 's', decimalComma: true });
    if (!period.ok) return `Seconds a bit: ${period.reason}`;
    return period.value > 0 ? { ...common, period: period.value } : 'Seconds a bit: above 0';
  }
  const clock = groups.find(({ reference, other }) => (reference ?? other)?.key === typed.clock);
  const twinClock = clock?.reference && clock.other ? clock.other.key : undefined;
  return { ...common, period: 0, clock: typed.clock, ...(twinClock === undefined ? {} : { twinClock }) };
}

function bitSeconds(words: readonly DrawnWord[]): number {
  const [word] = words;
  if (!word || word.instants.length < 2) return 1e-6;
  return (word.instants.at(-1)! - word.instants[0]!) / (word.instants.length - 1);
}
