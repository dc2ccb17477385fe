import type { FlowPointView, FlowView } from '../../server/index.ts';
import { CautionPlate } from '../marks.tsx';
import { Look, lookWords } from './look.tsx';

/** What drives a point, what it drives, and the way back to the edge. */
export function ChosenPoint({
  view,
  point,
  onChoose,
}: {
  readonly view: FlowView;
  readonly point: FlowPointView;
  readonly onChoose: (point: string) => void;
}) {
  const known = new Map(view.points.map((one) => [one.point, one]));
  const onward = view.points.filter(({ from }) => from.some((one) => one.point === point.point));
  // Until the next answer is there the way is still that of the point before.
  const steps = view.way[0]?.point === point.point ? view.way.slice(1) : [];
  return (
    <section className="flow-chosen" aria-labelledby="flow-chosen">
      <h2 id="flow-chosen" aria-live="polite">
        {point.point}
        {point.looks && <span className="label"> {lookWords(point.looks)}</span>}
      </h2>
      {point.caution !== '' && <CautionPlate text={point.caution} />}
      <dl>
        <dt className="label">Driven by</dt>
        <dd>
          {point.drivenBy}
          {point.outside !== '' && `, ${point.outside}`}
        </dd>
        {point.from.length > 0 && (
          <>
            <dt className="label">From</dt>
            <dd>
              <ul className="flow-nets">
                {point.from.map(({ point: from, by, certain }) => (
                  <li key={`${from} ${by}`}>
                    <NetButton net={from} known={known} onChoose={onChoose} />{' '}
                    <span className="label">
                      by {by}
                      {!certain && ', either way'}
                    </span>
                  </li>
                ))}
              </ul>
            </dd>
          </>
        )}
        {onward.length > 0 && (
          <>
            <dt className="label">Drives</dt>
            <dd>
              <ul className="flow-nets">
                {onward.map((one) => (
                  <li key={one.point}>
                    <NetButton net={one.point} known={known} onChoose={onChoose} />
                  </li>
                ))}
              </ul>
            </dd>
          </>
        )}
      </dl>
      {steps.length > 0 && (
        <details className="flow-way">
          <summary>
            The way back to the edge, {steps.length === 1 ? '1 point' : `${steps.length} points`}
          </summary>
          <ol>
            {steps.map(({ point: net, depth }) => (
              <li key={net}>
                <span className="label">
                  <span className="aside">points back: </span>
                  {depth}
                </span>
                <NetButton net={net} known={known} onChoose={onChoose} />
                <span>{known.get(net)?.drivenBy ?? 'not known'}</span>
              </li>
            ))}
          </ol>
        </details>
      )}
    </section>
  );
}

function NetButton({
  net,
  known,
  onChoose,
}: {
  readonly net: string;
  readonly known: ReadonlyMap<string, FlowPointView>;
  readonly onChoose: (point: string) => void;
}) {
  const point = known.get(net);
  return (
    <button type="button" className="button plain" onClick={() => onChoose(net)}>
      {point?.looks && <Look looks={point.looks} />}
      {net}
    </button>
  );
}
