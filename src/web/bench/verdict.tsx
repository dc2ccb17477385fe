import { VerdictMark } from '../marks.tsx';
import { type StripInput, spreads, verdictOf } from '../strip/index.ts';

/** What the value means, large; under it what was said last. */
export function VerdictLine({
  input,
  typed,
  said,
  wrong,
  waits,
}: {
  readonly input: StripInput;
  readonly typed: boolean;
  readonly said: string;
  readonly wrong: string;
  readonly waits: boolean;
}) {
  const { sound, reading } = input;
  const off = sound && reading != null && sound.sigma > 0 ? (reading - sound.value) / sound.sigma : undefined;
  const words = said || wrong;
  return (
    <>
      <p className="verdict">
        {!waits && off !== undefined && (
          <>
            <VerdictMark verdict={verdictOf(off)} toward={off < 0 ? 'left' : 'right'} size={0.8} />{' '}
            {verdictOf(off)}, {spreads(off)} spreads off
          </>
        )}
      </p>
      <p className={`said ${words.startsWith('Not ') ? 'refusal' : ''}`} role="status">
        {words || (!typed || off === undefined || verdictOf(off) !== 'doubtful' ? '' : 'Read it again.')}
      </p>
    </>
  );
}
