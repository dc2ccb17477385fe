import type { FlowAnswerView } from '../../server/index.ts';

/** Sentences of a kind at first. */
const MOST = 4;

/** What the readings of a unit say: the stage with good inputs and a bad output, bad loops, and where to look next. */
export function Told({
  unit,
  answer: { readings, bad, named, open, loops, candidates, next },
  onChoose,
}: {
  readonly unit: string;
  readonly answer: FlowAnswerView;
  readonly onChoose: (point: string) => void;
}) {
  const rest = [...named.slice(MOST), ...open.slice(MOST)];
  return (
    <section className="flow-told" aria-label={`What the readings of ${unit} say`}>
      <p role="status">
        {readings === 0
          ? `Nothing of ${unit} has been read that can be judged.`
          : `${bad} of ${readings === 1 ? '1 reading' : `${readings} readings`} of ${unit} ${bad === 1 ? 'looks' : 'look'} bad.`}
      </p>
      {named.slice(0, MOST).map((text) => (
        <p key={text} className="flow-named">
          {text.charAt(0).toUpperCase() + text.slice(1)}
        </p>
      ))}
      {[...loops, ...open.slice(0, MOST)].map((text) => (
        <p key={text}>{text}</p>
      ))}
      {rest.length > 0 && (
        <details>
          <summary>{rest.length} more, in fewer states</summary>
          {rest.map((text) => (
            <p key={text}>{text.charAt(0).toUpperCase() + text.slice(1)}</p>
          ))}
        </details>
      )}
      {next.length > 0 && (
        <>
          <p>{candidates} stages in question. To look at next, what comes nearest to halving them first:</p>
          <ul className="flow-next">
            {next.map((one) => (
              <li key={`${one.state} ${one.point}`}>
                <button type="button" className="button plain" onClick={() => onChoose(one.point)}>
                  {one.point}
                </button>{' '}
                in {one.state}{' '}
                <span className="label">
                  {one.bad} left if it looks bad, {one.good} if good
                </span>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}
