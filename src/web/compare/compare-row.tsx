import { lazy, Suspense } from 'react';
import type { CompareView, MachineView } from '../../server/index.ts';
import { VerdictMark } from '../marks.tsx';
import {
  axisOf,
  Scale,
  Strip,
  type StripInput,
  spreads,
  stripWords,
  verdictOf,
  volts,
} from '../strip/index.ts';
import type { CompareRow } from './drift.ts';

const PointHistory = lazy(() => import('./point-history.tsx'));

const HEIGHT = 28;

/** A point in both sets; opened, its history over the years. */
export function CompareRowItem({
  machine,
  row,
  sets,
  family,
  scaled,
  width,
  opened,
  onPress,
}: {
  readonly machine: MachineView;
  readonly row: CompareRow;
  readonly sets: Pick<CompareView, 'left' | 'right'>;
  readonly family: number;
  /** The row begins another supply family: its scale stands above it. */
  readonly scaled: boolean;
  readonly width: number;
  readonly opened: boolean;
  readonly onPress: () => void;
}) {
  const { state, point, left, right, expected, off } = row;
  const axis = axisOf(machine.families[family]!);
  const input: StripInput = {
    sound: expected,
    healthy: left ? [left.value] : [],
    reading: right?.value ?? null,
  };
  const names = { point: `${point} in ${state}`, unit: nameOf(sets.right), healthy: [nameOf(sets.left)] };
  const departs = off !== null && verdictOf(off) !== 'sound';
  return (
    <li>
      {scaled && (
        <div className="compare-scale">
          <span className="compare-strip">
            <Scale axis={axis} width={width} />
          </span>
        </div>
      )}
      <button
        type="button"
        className="compare-row"
        aria-expanded={opened}
        aria-label={`${stripWords(input, names)} History.`}
        onClick={onPress}
      >
        <span className="compare-name">
          <b>{point}</b> <span className="label">{state}</span>
        </span>
        <span className="compare-strip">
          <Strip input={input} axis={axis} width={width} height={HEIGHT} />
        </span>
        <span className="compare-value">{left ? volts(left.value) : ''}</span>
        <span className={`compare-value ${departs ? 'departs' : ''}`}>
          {right ? volts(right.value) : '· · ·'}
        </span>
        <span className={`compare-off ${departs ? 'departs' : ''}`}>
          {off !== null && (
            <>
              {spreads(off)}{' '}
              <VerdictMark verdict={verdictOf(off)} toward={off < 0 ? 'left' : 'right'} size={0.85} />
            </>
          )}
        </span>
      </button>
      {opened && (
        <Suspense fallback={<p className="label history-wait">Reading its history</p>}>
          <PointHistory machine={machine} row={row} units={[sets.left.unit, sets.right.unit]} />
        </Suspense>
      )}
    </li>
  );
}

function nameOf({ unit, date }: CompareView['left']): string {
  return date === '' ? unit : `${unit} on ${date}`;
}
