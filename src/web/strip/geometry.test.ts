import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { axisOf, PAD, xOf } from './axis.ts';
import { type Arrow, type Dot, MEASURES, type StripInput, stripGeometry } from './geometry.ts';

const AXIS = axisOf({ from: -12, to: 6, rails: [{ volts: -12 }, { volts: -6 }, { volts: 6 }] });
const WIDTH = 520;
const SOUND = { value: -6.15, sigma: 0.17 };

const row = (input: StripInput) => stripGeometry(input, AXIS, WIDTH, 'row');
const enlarged = (input: StripInput) => stripGeometry(input, AXIS, WIDTH, 'enlarged');
const x = (volts: number) => xOf(AXIS, WIDTH, volts);

describe('the band', () => {
  it('is the mean and two spreads either way', () => {
    const { band } = row({ sound: SOUND });
    expect(band!.left).toBeCloseTo(x(-6.49));
    expect(band!.right).toBeCloseTo(x(-5.81));
    expect(band!.mean).toBeCloseTo(x(-6.15));
    expect(band!.kind).toBe('sound');
  });

  it('is never narrower than 9 pixels, and then keeps its middle', () => {
    const { band } = row({ sound: { value: -0.1, sigma: 0.002 } });
    expect(band!.right - band!.left).toBeCloseTo(9);
    expect((band!.left + band!.right) / 2).toBeCloseTo(x(-0.1));
  });

  it('is hatched from half the axis on', () => {
    expect(row({ sound: { value: -3, sigma: 18 / 8 + 0.01 } }).band!.kind).toBe('loose');
    expect(row({ sound: { value: -3, sigma: 18 / 8 - 0.01 } }).band!.kind).toBe('sound');
  });

  it('is two dashed uprights where the circuit is not traced', () => {
    expect(row({ sound: SOUND, learnt: true }).band!.kind).toBe('learnt');
  });

  it('is not there where nothing is expected', () => {
    expect(row({ healthy: [-6] }).band).toBeUndefined();
  });

  it('stays on the strip when its level does not', () => {
    const { band } = row({ sound: { value: 40, sigma: 1 } });
    expect(band!.right).toBeLessThanOrEqual(WIDTH);
    expect(band!.mean).toBeCloseTo(WIDTH - PAD);
  });
});

describe('the reading', () => {
  it('is a small dot below 2 spreads, a larger one with a tail below 4, an arrow from 4 on', () => {
    const at = (off: number) => row({ sound: SOUND, reading: SOUND.value + off * SOUND.sigma }).mark!;
    expect(at(1.99)).toMatchObject({ kind: 'dot', verdict: 'sound', r: MEASURES.row.dot });
    expect(at(1.99)).not.toHaveProperty('tail');
    expect(at(2.01)).toMatchObject({ kind: 'dot', verdict: 'doubtful', r: MEASURES.row.doubtful });
    expect((at(3) as Dot).tail).toBeCloseTo(x(-5.81));
    expect((at(-3) as Dot).tail).toBeCloseTo(x(-6.49));
    expect(at(4.01)).toMatchObject({ kind: 'arrow', toward: 'right' });
    expect(at(-4.01)).toMatchObject({ kind: 'arrow', toward: 'left' });
  });

  it('is the tip of its arrow, whose stem begins on the near edge of the band', () => {
    const mark = row({ sound: SOUND, reading: -0.06 }).mark as Arrow;
    expect(mark.tip).toBeCloseTo(x(-0.06));
    expect(mark.start).toBeCloseTo(x(-5.81));
    expect(mark.tip - mark.neck).toBeCloseTo(12);
    expect(mark.headHeight).toBeCloseTo(16);
  });

  it('has a smaller head where the departure is shorter than the head, of 8 pixels at least', () => {
    const tight = { value: -0.1, sigma: 0.01 };
    const mark = row({ sound: tight, reading: 0.05 }).mark as Arrow;
    expect(Math.abs(mark.tip - mark.neck)).toBeCloseTo(8);
    expect(mark.headHeight).toBeCloseTo((16 * 8) / 12);
    expect(mark.start).toBe(mark.neck);
    const between = row({ sound: tight, reading: 0.48 }).mark as Arrow;
    expect(between.tip - between.neck).toBeGreaterThan(8);
    expect(between.tip - between.neck).toBeLessThan(12);
  });

  it('lies in the ring when the twins agree', () => {
    const { rings, mark } = row({ sound: SOUND, healthy: [-6.1], reading: -6.1 });
    expect((mark as Dot).x).toBe(rings[0]!.x);
    expect((mark as Dot).r).toBeLessThan(MEASURES.row.ring - MEASURES.row.ringLine / 2);
  });

  it('stops at the end of the axis when it lies beyond', () => {
    const { off, mark } = row({ sound: SOUND, reading: 21.4 });
    expect(off).toBe('right');
    expect((mark as Arrow).tip).toBe(WIDTH - PAD);
    expect(row({ sound: SOUND, reading: -80 }).off).toBe('left');
  });

  it('has no mark when it was not taken', () => {
    expect(row({ sound: SOUND, healthy: [-6.08] }).mark).toBeUndefined();
    expect(row({ sound: SOUND, reading: null }).mark).toBeUndefined();
  });

  it('needs no healthy unit', () => {
    const { rings, mark } = row({ sound: SOUND, reading: -0.06 });
    expect(rings).toEqual([]);
    expect(mark!.kind).toBe('arrow');
  });

  it('is a plain dot where nothing is expected', () => {
    expect(row({ reading: 3 }).mark).toMatchObject({ kind: 'dot', verdict: 'sound' });
  });

  it('set aside is hollow: an arrow where it would depart, else a ring', () => {
    expect(row({ sound: SOUND, reading: -0.06, setAside: true }).mark).toMatchObject({
      kind: 'aside',
      toward: 'right',
    });
    expect(row({ sound: SOUND, reading: -6.1, setAside: true }).mark).not.toHaveProperty('toward');
  });
});

describe('what else stands on it', () => {
  it('shows by a bracket where the drawing alone puts the level', () => {
    const { drawing, band } = row({ sound: SOUND, drawing: { value: -9, sigma: 0.2 } });
    expect((drawing!.left + drawing!.right) / 2).toBeCloseTo(x(-9));
    expect((band!.left + band!.right) / 2).toBeCloseTo(x(-6.15));
  });

  it('has a ring for each healthy unit', () => {
    expect(row({ healthy: [-6, -6.2, 40] }).rings.map(({ off }) => off)).toEqual([
      undefined,
      undefined,
      'right',
    ]);
  });

  it('has a whisker only where the error of the meter is wider than the mark', () => {
    expect(row({ sound: SOUND, reading: -6.1, meter: 0.01 }).whisker).toBeUndefined();
    const { whisker } = row({ sound: SOUND, reading: -6.1, meter: 0.3 });
    expect(whisker!.left).toBeCloseTo(x(-6.7));
    expect(whisker!.right).toBeCloseTo(x(-5.5));
  });

  it('has history only when it is enlarged, the newest the longest', () => {
    const history = [-6.2, -6.1, -6.0, -5.9, -5.8, -5.7, -5.6];
    expect(row({ sound: SOUND, history }).history).toEqual([]);
    const lengths = enlarged({ sound: SOUND, history }).history.map(({ length }) => length);
    expect(lengths).toHaveLength(7);
    expect(lengths).toEqual([...lengths].sort((a, b) => a - b));
    expect(lengths.at(-1)).toBeGreaterThan(lengths.at(-2)!);
  });

  it('has flags only when it is enlarged; letters closer than 14 pixels stand together', () => {
    const flags = [
      { letter: 'd', value: -6.1 },
      { letter: 'a', value: -0.05 },
      { letter: 'b', value: -6.1 },
      { letter: 'c', value: 0.8 },
    ];
    expect(row({ flags }).flags).toEqual([]);
    const groups = enlarged({ flags }).flags;
    expect(groups.map(({ letters }) => letters)).toEqual(['b d', 'a', 'c']);
    expect(groups[0]!.stems).toHaveLength(1);
    expect(groups[1]!.x).toBeCloseTo(x(-0.05));
  });

  it('points at what a fault would show', () => {
    expect(row({ sound: SOUND, pointer: -1 }).pointer).toBeCloseTo(x(-1));
  });
});

describe('any strip', () => {
  const level = fc.double({ min: -300, max: 300, noNaN: true });
  const sigma = fc.double({ min: 1e-4, max: 30, noNaN: true });

  it('keeps every mark on itself, and the arrow pointing the way the point went', () => {
    fc.assert(
      fc.property(
        level,
        sigma,
        level,
        fc.constantFrom('row' as const, 'enlarged' as const),
        (value, s, reading, size) => {
          const shape = stripGeometry({ sound: { value, sigma: s }, reading }, AXIS, WIDTH, size);
          const band = shape.band!;
          const mark = shape.mark!;
          expect(band.left).toBeGreaterThanOrEqual(0);
          expect(band.right).toBeLessThanOrEqual(WIDTH);
          expect(band.right).toBeGreaterThan(band.left);
          if (mark.kind === 'arrow') {
            expect(mark.toward).toBe(reading > value ? 'right' : 'left');
            expect(mark.tip).toBeGreaterThanOrEqual(PAD);
            expect(mark.tip).toBeLessThanOrEqual(WIDTH - PAD);
            expect(Math.sign(mark.tip - mark.neck)).toBe(reading > value ? 1 : -1);
          } else {
            expect(mark.x).toBeGreaterThanOrEqual(PAD);
            expect(mark.x).toBeLessThanOrEqual(WIDTH - PAD);
          }
        },
      ),
    );
  });
});
