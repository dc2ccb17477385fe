import { useEffect, useState } from 'react';
import { mapped, type TimeMap } from '../../waveform/index.ts';
import { volts } from '../strip/index.ts';
import { valueAt } from './cursors.ts';
import type { Group, Loaded } from './lanes.ts';
import { quantity } from './scale.ts';
import { instant } from './sentences.ts';
import type { WaveView } from './wave-view.ts';

/** What the cursors read. */
export function CursorTable({
  view,
  group,
  map,
}: {
  readonly view: WaveView;
  readonly group: Group | undefined;
  readonly map: TimeMap;
}) {
  const [, turn] = useState(0);
  useEffect(() => {
    let frame = 0;
    let seen = view.cursors;
    const stop = view.onMove(() => {
      if (view.cursors === seen) return;
      seen = view.cursors;
      frame ||= requestAnimationFrame(() => {
        frame = 0;
        turn((n) => n + 1);
      });
    });
    return () => {
      cancelAnimationFrame(frame);
      stop();
    };
  }, [view]);
  const { a, b } = view.cursors;
  if (a === undefined && b === undefined) {
    return (
      <p className="label waves-hint">
        Press in the picture, or A and B, to set two cursors: what is measured is what lies between them.
      </p>
    );
  }
  const rows = [group?.reference, group?.other].flatMap((one) => (one?.pyramid ? [one] : []));
  const read = (one: Loaded, at: number | undefined): number =>
    at === undefined ? Number.NaN : valueAt(one.pyramid!.trace, one.second ? mapped(map, at) : at);
  const both = a !== undefined && b !== undefined;
  return (
    <table className="waves-cursors">
      <caption className="aside">Cursors</caption>
      <thead>
        <tr>
          <td />
          <th scope="col">A</th>
          <th scope="col">B</th>
          <th scope="col">B less A</th>
        </tr>
      </thead>
      <tbody>
        <tr>
          <th scope="row">time</th>
          <td>{a === undefined ? '· · ·' : instant(a)}</td>
          <td>{b === undefined ? '· · ·' : instant(b)}</td>
          <td>
            {both ? quantity(b - a, 's', 5, '+') : ''}
            {both && a !== b && <span className="label"> {quantity(1 / Math.abs(b - a), 'Hz', 4)}</span>}
          </td>
        </tr>
        {rows.map((one) => (
          <tr key={one.key}>
            <th scope="row">{one.owner}</th>
            <td>{level(read(one, a), one.unit)}</td>
            <td>{level(read(one, b), one.unit)}</td>
            <td>{both ? level(read(one, b) - read(one, a), one.unit) : ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Volts to the millivolt, as everywhere on the page; anything else with its prefix. */
function level(value: number, unit: string): string {
  if (Number.isNaN(value)) return '· · ·';
  return unit === 'V' ? `${volts(value, 0)} V` : quantity(value, unit, 4, '+');
}
