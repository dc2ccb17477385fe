/** Where the twins differ: the first one in a sentence, then all of them to step through. */

import type { CaptureEntry } from '../../server/index.ts';
import type { Alignment, NoAlignment } from '../../waveform/index.ts';
import type { Group } from './lanes.ts';
import type { Listed } from './listed.ts';
import {
  alignmentWords,
  comparisonSentence,
  differenceSentence,
  differenceWords,
  instant,
  noAlignmentWords,
  stateSentence,
} from './sentences.ts';
import type { Between } from './use-twins.ts';

/** Rows of the list about the one that is looked at. */
const ROWS = 8;

export function Differences({
  reference,
  other,
  group,
  between,
  alignment,
  byTrigger,
  listed,
  looked,
  onLook,
  words,
}: {
  readonly reference: CaptureEntry;
  readonly other: CaptureEntry;
  readonly group: Group | undefined;
  readonly between: Between | undefined;
  readonly alignment: Alignment | NoAlignment | undefined;
  readonly byTrigger: boolean;
  readonly listed: readonly Listed[];
  readonly looked: number;
  readonly onLook: (index: number) => void;
  /** Of the words, where they were read. */
  readonly words: string | undefined;
}) {
  const [first] = listed;
  const second = other.unit || other.file;
  const start = Math.max(0, Math.min(looked - 2, listed.length - ROWS));
  return (
    <section className="waves-differences" aria-label="Differences">
      <p className="label">First to differ</p>
      <p className="waves-first" role="status">
        {first ? (
          <b>{first.title}</b>
        ) : between ? (
          <b>nothing</b>
        ) : alignment && !('map' in alignment) ? (
          <b>not known</b>
        ) : (
          '· · ·'
        )}
      </p>
      <p className="prose waves-sentence">
        {words ??
          (first
            ? sentenceOf(first, second)
            : alignment && !('map' in alignment)
              ? noAlignmentWords(alignment)
              : between?.kind === 'trace'
                ? comparisonSentence(
                    between.comparison,
                    reference.unit || reference.file,
                    second,
                    group?.reference?.unit ?? '',
                  )
                : between?.kind === 'logic'
                  ? `${second} is in the same state as ${reference.unit || reference.file} all along.`
                  : '')}
      </p>
      {alignment && 'map' in alignment && (
        <p className="label">{byTrigger ? 'both from the common trigger' : alignmentWords(alignment)}</p>
      )}
      {listed.length > 1 && (
        <>
          <p className="label">then, of {listed.length}</p>
          <ol className="waves-list" start={start + 1}>
            {listed.slice(start, start + ROWS).map((one, k) => (
              <li key={`${one.title} ${one.from}`}>
                <button type="button" aria-pressed={start + k === looked} onClick={() => onLook(start + k)}>
                  <span>{one.title}</span>
                  <span>{instant(one.from)}</span>
                  <span>{wordsOf(one)}</span>
                </button>
              </li>
            ))}
          </ol>
        </>
      )}
    </section>
  );
}

function sentenceOf({ what, unit }: Listed, second: string): string {
  switch (what.kind) {
    case 'trace':
      return differenceSentence(what.difference, second, unit);
    case 'state':
      return stateSentence(what.state, second);
    case 'bit':
      return '';
  }
}

function wordsOf({ what, unit }: Listed): string {
  switch (what.kind) {
    case 'trace':
      return differenceWords(what.difference, unit);
    case 'state':
      return `${what.state.second} for ${what.state.first}`;
    case 'bit':
      return `word ${what.bit.word + 1}, bit ${what.bit.bit}: ${what.bit.second} for ${what.bit.first}`;
  }
}
