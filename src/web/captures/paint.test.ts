import { describe, expect, it } from 'vitest';
import { COMMON_TRIGGER, Pyramid, type Trace } from '../../waveform/index.ts';
import { columnsOf, type Palette, paintTrace } from './paint.ts';

const COLOURS: Palette = {
  ground: 'ground',
  sheet: 'sheet',
  ink: 'ink',
  ink2: 'ink2',
  rule: 'rule',
  grid: 'grid',
  spot: 'spot',
  act: 'act',
  actink: 'actink',
};

/** Notes the rectangles that are filled, which is what many samples are drawn as. */
function notebook() {
  const filled: { colour: string; x: number; y: number; width: number; height: number }[] = [];
  const ctx = {
    fillStyle: '',
    fillRect(x: number, y: number, width: number, height: number) {
      filled.push({ colour: this.fillStyle, x, y, width, height });
    },
    save() {},
    restore() {},
    beginPath() {},
    rect() {},
    clip() {},
  };
  return { ctx: ctx as unknown as CanvasRenderingContext2D, filled };
}

describe('many samples', () => {
  const values = Float32Array.from({ length: 10_000 }, (_, i) => (i === 4321 ? 1 : 0));
  const trace: Trace = { name: '', unit: 'V', timebase: { start: 0, step: 1 }, values };
  const drawn = {
    pyramid: new Pyramid(trace),
    map: COMMON_TRIGGER,
    hollow: false,
    chosen: true,
    name: '',
    departures: [],
  };
  const box = { x: 0, y: 0, width: 100, height: 50 };
  const span = { from: 0, to: 10_000 };

  it('show a single one that stands out, in its column and as high as it is', () => {
    const { ctx, filled } = notebook();
    paintTrace(ctx, drawn, span, box, { low: 0, high: 1 }, COLOURS, 1);
    const tall = filled.filter(({ height }) => height > 10);
    expect(tall).toHaveLength(1);
    expect(tall[0]).toMatchObject({ colour: 'ink', y: -1, height: 52 });
    expect(Math.floor(tall[0]!.x + tall[0]!.width / 2)).toBe(43);
  });

  it('of the healthy unit are a line with its ground inside', () => {
    const { ctx, filled } = notebook();
    paintTrace(ctx, { ...drawn, hollow: true }, span, box, { low: 0, high: 1 }, COLOURS, 1);
    const [outer, inner] = [filled.slice(0, filled.length / 2), filled.slice(filled.length / 2)];
    expect(new Set(outer!.map(({ colour }) => colour))).toEqual(new Set(['ink']));
    // The one high column is full of what is in it, not empty.
    expect(new Set(inner!.map(({ colour }) => colour))).toEqual(new Set(['ground', 'grid']));
    for (const [i, { height }] of outer!.entries()) expect(height).toBeGreaterThan(inner![i]!.height + 2);
  });

  it('leave out what is a gap', () => {
    const gappy = { ...trace, values: values.map((v, i) => (i >= 2000 && i < 5000 ? Number.NaN : v)) };
    const { ctx, filled } = notebook();
    paintTrace(ctx, { ...drawn, pyramid: new Pyramid(gappy) }, span, box, { low: 0, high: 1 }, COLOURS, 1);
    expect(filled.some(({ x, width }) => x < 45 && x + width > 25)).toBe(false);
    expect(filled.length).toBeGreaterThan(0);
  });
});

describe('columns of stretches', () => {
  it('are whole pixels, one at least, joined where they touch, and only those in sight', () => {
    const stretches = [
      { from: -50, to: -40 },
      { from: 10, to: 10.1 },
      { from: 10.2, to: 12 },
      { from: 90, to: 200 },
      { from: 300, to: 301 },
    ];
    expect(columnsOf(stretches, { from: 0, to: 100 }, 100)).toEqual([
      [10, 12],
      [90, 100],
    ]);
    expect(columnsOf(stretches, { from: 0, to: 1000 }, 10)).toEqual([
      [0, 2],
      [3, 4],
    ]);
  });
});
