import type { MachineView } from '../../server/index.ts';
import { dayWords, shortDay } from '../dates.ts';
import { Link } from '../link.tsx';
import { address } from '../router.ts';
import type { Draft } from './entry-dialog.tsx';
import { partAndMode } from './entry-text.ts';
import type { Standing } from './repairs.ts';

export const KINDS = ['symptom', 'finding', 'replaced', 'proof', 'note'] as const;

/** Entries as lines: day, kind, what was written, and where it leads. */
export function EntryList({
  machine,
  entries,
  withUnit = false,
  opens = false,
  onCorrect,
}: {
  readonly machine: MachineView;
  readonly entries: readonly Standing[];
  /** Each line names its unit. */
  readonly withUnit?: boolean;
  /** The first one has opened a repair. */
  readonly opens?: boolean;
  readonly onCorrect: (draft: Draft) => void;
}) {
  return (
    <ol className="entries">
      {entries.map(({ entry, earlier }, i) => (
        <li key={entry.id} className={`entry ${opens && i === 0 ? 'opening' : ''}`}>
          <p className="entry-day">
            {entry.date === '' ? <span className="label">no date</span> : <time>{shortDay(entry.date)}</time>}
            {withUnit && <b>{entry.unit}</b>}
          </p>
          <p className="entry-kind">{entry.kind}</p>
          <div className="entry-body">
            <p className="entry-text">{entry.text}</p>
            {entry.suspects.length > 0 && (
              <p className="entry-links">
                <span className="label">{entry.kind === 'replaced' ? 'part' : 'suspects'}</span>
                {entry.suspects.map((suspect) => (
                  <SuspectLink key={suspect} machine={machine} unit={entry.unit} suspect={suspect} />
                ))}
              </p>
            )}
            {entry.points.length > 0 && (
              <p className="entry-links">
                <span className="label">{entry.points.length === 1 ? 'point' : 'points'}</span>
                {entry.points.map((point) => (
                  <Link key={point} to={benchAt(machine, { unit: entry.unit, point })}>
                    {point}
                  </Link>
                ))}
              </p>
            )}
            {entry.note && <p className="label">{entry.note}</p>}
            {earlier.length > 0 && (
              <details className="entry-earlier">
                <summary className="label">
                  corrected;{' '}
                  {earlier.length === 1 ? 'as it was before' : `${earlier.length} earlier versions`}
                </summary>
                <ul>
                  {earlier.map((old) => (
                    <li key={old.id}>
                      {old.date && `${dayWords(old.date)}, `}
                      {old.kind}: {old.text}
                      {old.suspects.length > 0 && ` (${old.suspects.join(', ')})`}
                    </li>
                  ))}
                </ul>
              </details>
            )}
          </div>
          <button
            type="button"
            className="button plain entry-correct"
            onClick={() => onCorrect({ corrects: entry })}
          >
            Correct<span className="aside"> the entry: {entry.text}</span>
          </button>
        </li>
      ))}
    </ol>
  );
}

function SuspectLink({
  machine,
  unit,
  suspect,
}: {
  readonly machine: MachineView;
  readonly unit: string;
  readonly suspect: string;
}) {
  const { part, mode } = partAndMode(suspect);
  return (
    <Link to={benchAt(machine, { unit, fault: suspect })}>
      {part}
      {mode && <span className="entry-mode"> {mode}</span>}
    </Link>
  );
}

/** The bench with this unit, at a point or with what this fault would show. */
export function benchAt(
  { id }: Pick<MachineView, 'id'>,
  query: { unit: string; point?: string; fault?: string; state?: string },
): string {
  return address(`/m/${id}/bench`, query);
}
