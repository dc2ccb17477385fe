import { useMemo } from 'react';
import { COMMON_TRIGGER, isMeasured } from '../../waveform/index.ts';
import { type Course, type Expected, traceOf } from './expected.ts';
import type { Loaded } from './lanes.ts';
import { FIRST, figures, useQuantities } from './measurements.tsx';
import type { Reckoner } from './reckoner.ts';

/** Turns that are measured of what repeats. */
const TURNS = 5;
let kept = 0;

/** What is measured on the expected waveforms of a point, as it is on a capture. */
export function ExpectedTable({
  reckoner,
  expected,
}: {
  readonly reckoner: Reckoner;
  readonly expected: Expected;
}) {
  const { point, sound, volts, fault } = expected;
  const loaded = useMemo(() => {
    const one = (course: Course, list: readonly number[]): Loaded => {
      const key = `expected of ${point} ${kept++}`;
      reckoner.keep(key, traceOf(course, list, point, TURNS));
      const extent = { from: course.from, to: course.to };
      const own = { title: point, point, owner: '', unit: 'V', hollow: true, second: false };
      return { ...own, key, extent, low: Math.min(...list), high: Math.max(...list) };
    };
    return [one(sound, volts), ...(fault ? [one(fault.course, fault.volts)] : [])];
  }, [reckoner, point, sound, volts, fault]);
  const first = useQuantities(reckoner, loaded[0], [], undefined, COMMON_TRIGGER);
  const second = useQuantities(reckoner, loaded[1], [], undefined, COMMON_TRIGGER);
  const results = [first, second].slice(0, loaded.length);
  const names = FIRST.filter((name) =>
    results.some(({ list }) => list.some((one) => one.words === name && isMeasured(one.estimate))),
  );
  return (
    <section className="waves-measures waves-computed" aria-label="Expected">
      <h2>
        Expected at {point} <span className="label">computed</span>
      </h2>
      <table>
        <caption className="aside">What would be measured at {point}, as it is computed</caption>
        <thead>
          <tr>
            <td />
            <th scope="col">a sound unit</th>
            {fault && (
              <th scope="col">
                with {fault.part}, {fault.words}
              </th>
            )}
          </tr>
        </thead>
        <tbody>
          {names.map((name) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              {results.map(({ list }, i) => {
                const found = list.find(({ words }) => words === name);
                return (
                  <td key={loaded[i]!.key}>
                    <span className="waves-value">
                      {found && isMeasured(found.estimate) ? figures(found).text : '—'}
                    </span>
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
      {results.some(({ busy }) => busy) && <p className="label">Measuring</p>}
    </section>
  );
}
