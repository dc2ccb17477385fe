import { Fragment, useState } from 'react';
import type { FlowLoopView } from '../../server/index.ts';
import { CautionPlate } from '../marks.tsx';

/** Ways around a loop at first; the rest comes with a press. */
const FIRST_RINGS = 3;

/** Loops with the places where each can be opened or held. */
export function Loops({
  loops,
  caution,
  of,
  onChoose,
}: {
  readonly loops: readonly FlowLoopView[];
  /** Goes with every place. */
  readonly caution: string;
  /** The point or board that they are of; empty for all. */
  readonly of: string;
  readonly onChoose: (point: string) => void;
}) {
  const held = loops.some(({ rings }) => rings.some(({ places }) => places.length > 0));
  return (
    <section className="flow-loops" aria-labelledby="flow-loops">
      <h2 id="flow-loops">{of === '' ? 'Loops' : `Loops through ${of}`}</h2>
      {loops.length === 0 ? (
        <p className="label">There are none.</p>
      ) : (
        <>
          <p className="prose">
            In a loop everything looks bad as soon as one stage is: open it or hold it, then read again.
          </p>
          {held && <CautionPlate text={caution} />}
          {loops.map((loop) => (
            <OneLoop key={loop.points.join(' ')} loop={loop} onChoose={onChoose} />
          ))}
        </>
      )}
    </section>
  );
}

function OneLoop({
  loop: { points, words, closed, bad, rings },
  onChoose,
}: {
  readonly loop: FlowLoopView;
  readonly onChoose: (point: string) => void;
}) {
  const [all, setAll] = useState(false);
  const shown = all ? rings : rings.slice(0, FIRST_RINGS);
  return (
    <article>
      <h3>
        {words} <span className="label">{points.length} points</span>
      </h3>
      {bad && <p className="refusal">All that was read of it looks bad.</p>}
      {closed !== '' && <p className="prose">{closed}</p>}
      {closed === '' &&
        shown.map((ring) => (
          <div key={ring.points.join(' ')} className="flow-ring">
            <p>
              {ring.points.map((point) => (
                <Fragment key={point}>
                  <button type="button" className="button plain" onClick={() => onChoose(point)}>
                    {point}
                  </button>
                  <span aria-hidden="true"> → </span>
                </Fragment>
              ))}
              <span className="label">and round</span>
            </p>
            {ring.places.length === 0 ? (
              <p className="label">No place is found in the wiring where it can be opened or held.</p>
            ) : (
              <ul>
                {ring.places.map((place) => (
                  <li key={place.words}>
                    {place.words.charAt(0).toUpperCase() + place.words.slice(1)}.
                    {place.caution !== '' && <CautionPlate text={place.caution} />}
                  </li>
                ))}
              </ul>
            )}
          </div>
        ))}
      {closed === '' && rings.length > shown.length && (
        <button type="button" className="button" onClick={() => setAll(true)}>
          {rings.length - shown.length} longer ways around
        </button>
      )}
    </article>
  );
}
