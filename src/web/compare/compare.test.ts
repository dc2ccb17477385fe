import { describe, expect, it } from 'vitest';
import { drifted, furthestFirst } from './drift.ts';
import { historyPlot } from './history-geometry.ts';
import { leastSquares } from './least-squares.ts';
import { trendOf, trendWords } from './trend.ts';

const years = (values: readonly number[], first = 2015) =>
  values.map((value, i) => ({ takenAt: `${first + i}-06-01T12:00:00Z`, value }));

describe('the trend of a point', () => {
  it('of a straight line is that line', () => {
    const line = leastSquares([0, 1, 2, 3], [-6, -5.5, -5, -4.5])!;
    expect(line.slope).toBeCloseTo(0.5, 12);
    expect(line.intercept).toBeCloseTo(-6, 12);
    expect(line.slopeError).toBeCloseTo(0, 9);
    expect(leastSquares([1, 1], [0, 1])).toBeUndefined();
  });
  it('needs readings that are apart in time', () => {
    expect(trendOf(years([-6.1]))).toBeUndefined();
    expect(
      trendOf([
        { takenAt: '2024-01-01T10:00:00Z', value: -6 },
        { takenAt: '2024-01-01T11:00:00Z', value: -5 },
        { takenAt: '', value: 3 },
      ]),
    ).toBeUndefined();
  });
  it('is put in volts a year, in spreads, and in years until it departs', () => {
    const trend = trendOf(years([-6.1, -6.05, -6, -5.95, -5.9]))!;
    expect(trend.perYear).toBeCloseTo(0.05, 4);
    expect(trend.years).toBeCloseTo(4, 2);
    expect(trendWords(trend, { value: -6.1, sigma: 0.1 })).toBe(
      'It rises 50 mV a year (standard error 0.0 mV): 200 mV over 4 years, 2.0 spreads. At this rate it departs in about 4 years.',
    );
    expect(trendWords(trend, { value: -6.5, sigma: 0.1 })).toContain('It departs already.');
    // On its way back through the band it has further to go.
    expect(trendWords(trend, { value: -5.6, sigma: 0.1 })).toContain('about 14 years');
    expect(trendWords(trend, { value: -6.1, sigma: 2 })).not.toContain('departs');
  });
  it('is none where chance does as much', () => {
    const words = trendWords(trendOf(years([-6.1, -6.0, -6.12, -6.02]))!);
    expect(words).toMatch(/^No trend: .* a year is no more than chance in 4 readings over 3 years\.$/);
  });
  it('of two readings says that two tell little', () => {
    expect(trendWords(trendOf(years([-6.1, -6.3]))!)).toContain(
      'It falls 200 mV a year; two readings alone cannot tell drift from chance: 200 mV over 1 year.',
    );
  });
});

describe('the plot of the years', () => {
  const frame = { width: 400, height: 200, left: 50, right: 10, top: 10, bottom: 30 };
  const readings = years([-6.1, -6.0, -5.6]).map((one, id) => ({ ...one, id, own: id < 2 }));
  it('has every dated reading and the whole band within its frame, later to the right and higher up', () => {
    const { marks, band } = historyPlot(readings, { value: -6, sigma: 0.2 }, frame);
    expect(marks.map(({ id, own }) => [id, own])).toEqual([
      [0, true],
      [1, true],
      [2, false],
    ]);
    for (const { x, y } of marks) {
      expect(x).toBeGreaterThanOrEqual(50);
      expect(x).toBeLessThanOrEqual(390);
      expect(y).toBeGreaterThanOrEqual(10);
      expect(y).toBeLessThanOrEqual(170);
    }
    expect(marks[1]!.x).toBeGreaterThan(marks[0]!.x);
    expect(marks[2]!.y).toBeLessThan(marks[0]!.y);
    expect(band!.top).toBeLessThan(band!.bottom);
    expect(band!.bottom).toBeLessThanOrEqual(170);
  });
  it('engraves a few round volts and years, or months where all was read within one', () => {
    const plot = historyPlot(readings, null, frame);
    expect(plot.levels.map(({ volts }) => volts)).toEqual([-6, -5.8, -5.6]);
    const labels = plot.years.map(({ label }) => label);
    expect(labels).toEqual(['July 2015', 'Jan 2016', 'July 2016', 'Jan 2017', 'July 2017']);
    const decade = historyPlot(
      years([-6, -6, -6, -6, -6, -6, -6, -6, -6, -6]).map((one, id) => ({ ...one, id, own: true })),
      null,
      frame,
    );
    expect(decade.years.map(({ label }) => label)).toEqual(['2016', '2018', '2020', '2022', '2024']);
    const short = historyPlot(readings.slice(0, 1), null, frame);
    expect(short.years.length).toBeGreaterThan(1);
    expect(short.years.every(({ label }) => /^[A-Z][a-z]+ 2015$/.test(label))).toBe(true);
    expect(short.levels.length).toBeGreaterThanOrEqual(2);
  });
});

describe('points that were read in both sets', () => {
  const row = (point: string, off: number | null, right = true) => ({
    state: 's',
    point,
    left: { value: 0, takenAt: '' },
    right: right ? { value: 1, takenAt: '' } : null,
    expected: null,
    off,
    verdict: null,
  });
  it('come by how far they moved, whichever way; what has no spread comes last', () => {
    const rows = [row('A', 0.5), row('B', null), row('C', -9), row('D', 3), row('E', null, false)];
    expect(furthestFirst(rows).map(({ point }) => point)).toEqual(['C', 'D', 'A', 'B', 'E']);
    expect(drifted(rows)).toEqual({ both: 4, departs: 1, doubtful: 1 });
  });
});
