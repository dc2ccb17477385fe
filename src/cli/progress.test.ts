import { PassThrough } from 'node:stream';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Progress, timeLeft } from './progress.ts';

/** A terminal that remembers what was written to it. */
function terminal() {
  let text = '';
  const progress = Object.assign(new PassThrough(), { isTTY: true, columns: 80 });
  progress.on('data', (piece) => {
    text += piece;
  });
  const nothing = () => {};
  return {
    terminal: { columns: 80, unicode: false, colours: false, out: nothing, err: nothing, progress },
    text: () => text,
  };
}

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['performance'] });
});
afterEach(() => {
  vi.useRealTimers();
});

const loaded = () => import('cli-progress').then(() => new Promise((resolve) => setImmediate(resolve)));

describe('the progress bar', () => {
  it('stays away from work that takes less than a second', async () => {
    const { terminal: shown, text } = terminal();
    const progress = new Progress(shown, 'Fault table');
    vi.advanceTimersByTime(900);
    progress.report(90, 100);
    await loaded();
    progress.report(99, 100);
    progress.end();
    expect(text()).toBe('');
  });

  it('shows after a second how far it is, and is gone with its cursor back at the end', async () => {
    const { terminal: shown, text } = terminal();
    const progress = new Progress(shown, 'Fault table');
    vi.advanceTimersByTime(1100);
    progress.report(25, 100);
    await loaded();
    progress.report(25, 100);
    progress.end();
    expect(text()).toContain('Fault table');
    expect(text()).toContain('\u001b[?25h');
    const after = text();
    progress.report(50, 100);
    expect(text()).toBe(after);
  });

  it('shows nothing where nobody watches', async () => {
    const { terminal: shown, text } = terminal();
    const progress = new Progress({ ...shown, progress: undefined }, 'Fault table');
    vi.advanceTimersByTime(5000);
    progress.report(25, 100);
    await loaded();
    expect(text()).toBe('');
  });
});

describe('the time left', () => {
  it.each([
    [10_000, 0.01, ''],
    [10_000, 0.25, ', 30 s left'],
    [60_000, 0.2, ', 4 min left'],
    [10_000, 1, ', 0 s left'],
  ])('after %d ms, with %d done, is %j', (elapsed, share, text) => {
    expect(timeLeft(elapsed, share)).toBe(text);
  });
});
