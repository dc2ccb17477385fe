/** One point over the years: a small plot with the sound band, the trend in words, and every reading in figures. */

import { useRef } from 'react';
import type { MachineView } from '../../server/index.ts';
import { useWidth } from '../bench/width.ts';
import { shortDay } from '../dates.ts';
import { Link } from '../link.tsx';
import { api, useLive } from '../live.ts';
import { DotMark, RingMark } from '../marks.tsx';
import { address } from '../router.ts';
import { volts } from '../strip/index.ts';
import type { CompareRow } from './drift.ts';
import { type HistoryReading, historyPlot } from './history-geometry.ts';
import { trendOf, trendWords } from './trend.ts';

const HEIGHT = 190;
const EDGES = { left: 64, right: 16, top: 10, bottom: 30 };

export default function PointHistory({
  machine,
  row: { state, point, expected },
  units: [other, unit],
}: {
  readonly machine: MachineView;
  readonly row: CompareRow;
  /** That the left set is of, and the right one. */
  readonly units: readonly [string, string];
}) {
  const box = useRef<HTMLDivElement>(null);
  const width = useWidth(box, 560);
  const { value, problem } = useLive(api.machines[':id'].readings, {
    param: { id: String(machine.id) },
    query: { state, point },
  });
  const known = (value ?? [])
    .filter((one) => one.standing !== 'withdrawn' && one.quantity === 'V' && one.value !== null)
    .filter((one) => one.unit === unit || one.unit === other)
    .map((one) => ({ ...one, value: one.value! }));
  const readings: HistoryReading[] = known.map(({ id, value: level, takenAt, unit: of }) => ({
    id,
    value: level,
    takenAt,
    own: of === unit,
  }));
  const sigma = expected?.sigma;
  const trends = [...new Set([unit, other])].flatMap((one) => {
    const trend = trendOf(known.filter((reading) => reading.unit === one));
    return trend ? [{ unit: one, words: trendWords(trend, expected) }] : [];
  });
  return (
    <div className="history">
      {problem && <p className="refusal">{problem.message}</p>}
      <div className="history-plot" ref={box}>
        {readings.length > 0 && <Plot readings={readings} sound={expected} width={width} />}
      </div>
      <div className="history-words">
        {trends.map((one) => (
          <p key={one.unit} className="prose">
            <b>{one.unit}.</b> {one.words}
          </p>
        ))}
        {value && trends.length === 0 && (
          <p className="prose">No trend yet: that takes readings of one unit some months apart.</p>
        )}
        <table>
          <caption className="aside">
            Readings of {point} in {state}
          </caption>
          <thead>
            <tr className="label">
              <th scope="col">taken</th>
              <th scope="col">unit</th>
              <th scope="col">volts</th>
            </tr>
          </thead>
          <tbody>
            {[...known].reverse().map((one) => (
              <tr key={one.id}>
                <td>{one.takenAt ? shortDay(one.takenAt) : 'no date'}</td>
                <td>
                  {one.unit === unit ? <DotMark size={0.75} /> : <RingMark size={0.75} />} {one.unit}
                </td>
                <td className="figure">{volts(one.value, sigma)}</td>
              </tr>
            ))}
          </tbody>
        </table>
        <p>
          <Link to={address(`/m/${machine.id}/bench`, { unit, state, point })}>Read it on the bench</Link>
        </p>
      </div>
    </div>
  );
}

function Plot({
  readings,
  sound,
  width,
}: {
  readonly readings: readonly HistoryReading[];
  readonly sound: CompareRow['expected'];
  readonly width: number;
}) {
  const { marks, band, years, levels } = historyPlot(readings, sound, { width, height: HEIGHT, ...EDGES });
  const right = width - EDGES.right;
  const foot = HEIGHT - EDGES.bottom;
  return (
    <svg className="years" viewBox={`0 0 ${width} ${HEIGHT}`} aria-hidden="true">
      {band && (
        <>
          <rect
            className="strip-band"
            x={EDGES.left}
            y={band.top}
            width={right - EDGES.left}
            height={band.bottom - band.top}
          />
          <path
            className="strip-edge"
            d={`M${EDGES.left} ${band.top}H${right}M${EDGES.left} ${band.bottom}H${right}`}
          />
        </>
      )}
      {levels.map(({ y, volts: level }) => (
        <g key={level}>
          <path className="years-level" d={`M${EDGES.left} ${y}H${right}`} />
          <text x={EDGES.left - 8} y={y + 5} textAnchor="end">
            {volts(level)}
          </text>
        </g>
      ))}
      <path className="years-axis" d={`M${EDGES.left} ${EDGES.top}V${foot}H${right}`} />
      {years.map(({ x, label }) => (
        <g key={label}>
          <path className="years-axis" d={`M${x} ${foot}v6`} />
          <text x={x} y={HEIGHT - 6} textAnchor="middle">
            {label}
          </text>
        </g>
      ))}
      {marks.map(({ id, x, y, own }) =>
        own ? (
          <circle key={id} className="years-dot" cx={x} cy={y} r={4.5} />
        ) : (
          <circle key={id} className="years-ring" cx={x} cy={y} r={5.6} />
        ),
      )}
    </svg>
  );
}
