import { describe, expect, it } from 'vitest';
import { readMachine } from '../machine/index.ts';
import { demoFiles, movedToYesterday } from './demo.ts';

describe('the demo machine in a new record', () => {
  it('was read yesterday, in the same order and at the same hours, and its log ends then', async () => {
    const files = await demoFiles();
    const now = new Date('2031-03-05T08:15:00Z');
    const [before, after] = [files, movedToYesterday(files, now)].map((one) =>
      readMachine(one).machine!.readings.map(({ takenAt }) => Date.parse(takenAt)),
    );
    expect(new Date(Math.max(...after!)).toISOString()).toMatch(/^2031-03-04T/);
    const days = after!.map((time, i) => (time - before![i]!) / 86_400_000);
    expect(new Set(days).size).toBe(1);
    expect(days[0]! % 1).toBe(0);
    const log = new TextDecoder().decode(movedToYesterday(files, now).get('log.csv'));
    expect(log.match(/\d{4}-\d{2}-\d{2}/g)!.at(-1)).toBe('2031-03-04');
  });
});
