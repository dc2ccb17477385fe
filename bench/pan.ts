/**
 * Panning and zooming a pair of captures of 10 million samples each in the built page: frames a second in a headless browser that
 * draws without a graphics card, frames that came late, and what the page's script takes for one. Prints the machine, and for each
 * stretch that is seen the median and the 95th percentile.
 *
 * Of use on a machine that has nothing else to do: the load before it is printed. Limit: 60 frames a second, that is, no more than
 * one frame in twenty later than a frame and a half. Then, how long the pair takes from the press to the picture, and how long the
 * page stands still meanwhile at most (100 ms).
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import type { CaptureEntry, MachineView } from '../src/server/index.ts';
import { endBrowser, type WatchedPage, type Workbench, workbench } from '../test/e2e/harness.ts';

const SAMPLES = 10_000_000;
const RATE = 1_000_000;
const FRAMES = 240;
const FRAME_MS = 1000 / 60;
const LIMITS = { late: 0.05, still: 100 };
const PATIENCE_MS = 180_000;
/** Stretches that are seen, as shares of the whole. */
const SHARES = [1, 0.1, 0.01, 0.0001];

/** A sound file of single-precision numbers: a pulse train of an invented clock with noise by a rule; the second lacks some pulses. */
function soundFile(faulty: boolean): Uint8Array {
  const bytes = new Uint8Array(44 + 4 * SAMPLES);
  const view = new DataView(bytes.buffer);
  const text = (at: number, letters: string): void => bytes.set(new TextEncoder().encode(letters), at);
  text(0, 'RIFF');
  view.setUint32(4, bytes.length - 8, true);
  text(8, 'WAVEfmt ');
  view.setUint32(16, 16, true);
  view.setUint16(20, 3, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, RATE, true);
  view.setUint32(28, 4 * RATE, true);
  view.setUint16(32, 4, true);
  view.setUint16(34, 32, true);
  text(36, 'data');
  view.setUint32(40, 4 * SAMPLES, true);
  const values = new Float32Array(bytes.buffer, 44);
  let state = faulty ? 7 : 3;
  for (let i = 0; i < SAMPLES; i++) {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    const pulse = i % 1000 < 400 && !(faulty && i % 1_000_000 < 30_000 && i > 1_000_000);
    values[i] = (pulse ? -0.12 : -6.1) + 0.05 * (state / 2 ** 32 - 0.5);
  }
  return bytes;
}

async function bring(page: WatchedPage, bench: Workbench, machine: MachineView): Promise<number> {
  let last = 0;
  for (const { id: unit, health } of machine.units.slice(0, 2)) {
    const about = {
      file: `${unit}.wav`,
      unit,
      state: machine.states[0]!.name,
      points: [machine.points[0]!.point],
      fullScale: 1,
    };
    const start = performance.now();
    const answer = await page.request.post(
      `/api/machines/${machine.id}/captures?${new URLSearchParams({ about: JSON.stringify(about) })}`,
      {
        data: Buffer.from(soundFile(health === 'faulty').buffer),
        headers: { origin: bench.origin, 'content-type': 'application/octet-stream' },
        timeout: PATIENCE_MS,
      },
    );
    if (!answer.ok()) throw new Error(await answer.text());
    console.log(`${SAMPLES / 1e6} million samples kept in ${(performance.now() - start).toFixed(0)} ms`);
    last = ((await answer.json()) as CaptureEntry).id;
  }
  return last;
}

interface Frames {
  /** Milliseconds from frame to frame. */
  readonly apart: readonly number[];
  /** Milliseconds of script in a frame. */
  readonly script: readonly number[];
}

/** Moves the picture in every frame, to and fro, as a wheel would. A text, since what runs in the page is not built. */
function panned(page: WatchedPage, share: number): Promise<Frames> {
  return page.evaluate<Frames>(`(async () => {
    const share = ${share};
    const canvas = document.querySelector('canvas');
    const { left, top, width } = canvas.getBoundingClientRect();
    const turn = (deltaX, deltaY) =>
      canvas.dispatchEvent(
        new WheelEvent('wheel', { deltaX, deltaY, clientX: left + width / 2, clientY: top + 100, cancelable: true }),
      );
    const frame = () => new Promise((next) => requestAnimationFrame(next));
    turn(0, 1e5);
    if (share < 1) turn(0, Math.log(share) / Math.log(1.0015));
    for (let k = 0; k < 30; k++) await frame();
    const apart = [];
    const script = [];
    let last = await frame();
    for (let k = 0; k < ${FRAMES}; k++) {
      // Of the whole nothing can be moved along, so it is drawn closer and wider.
      if (share < 1) turn(k % 80 < 40 ? 12 : -12, 0);
      else turn(0, k % 40 < 20 ? -10 : 10);
      const now = await frame();
      // The picture asked for its frame before this one did: by now it is drawn.
      script.push(performance.now() - now);
      apart.push(now - last);
      last = now;
    }
    return { apart, script };
  })()`);
}

function quantile(numbers: readonly number[], p: number): number {
  return [...numbers].sort((a, b) => a - b)[Math.min(numbers.length - 1, Math.floor(p * numbers.length))]!;
}

function report(share: number, { apart, script }: Frames): void {
  const late = apart.filter((ms) => ms > 1.5 * FRAME_MS).length;
  const dropped = apart.reduce((sum, ms) => sum + Math.max(0, Math.round(ms / FRAME_MS) - 1), 0);
  const rate = (1000 * apart.length) / apart.reduce((sum, ms) => sum + ms, 0);
  console.log(
    `${(share * SAMPLES).toLocaleString('en')} samples seen: ${rate.toFixed(1)} frames/s, ${dropped} dropped of ${apart.length}, ` +
      `apart ${quantile(apart, 0.5).toFixed(1)} ms, 95th percentile ${quantile(apart, 0.95).toFixed(1)} ms; ` +
      `script ${quantile(script, 0.5).toFixed(1)} ms, 95th percentile ${quantile(script, 0.95).toFixed(1)} ms` +
      `${late > LIMITS.late * apart.length ? '  OVER' : ''}`,
  );
}

const work = mkdtempSync(join(tmpdir(), 'pan-'));
try {
  console.log(
    `${cpus()[0]?.model.trim()}, ${cpus().length} cores, load ${loadavg()[0]!.toFixed(1)}, Node ${process.version}`,
  );
  const bench = await workbench(join(work, 'pan.sisterboard'));
  try {
    const page = await bench.open('/');
    const machine = (await (await page.request.get('/api/machines/1')).json()) as MachineView;
    const capture = await bring(page, bench, machine);
    // Not measured beside the demo's fault table, which keeps all processors busy at the first start.
    await page.waitForTimeout(1000);
    for (let k = 0; k < 120; k++) {
      const { table } = (await (await page.request.get('/api/machines/1')).json()) as MachineView;
      if (table.state === 'ready' || table.state === 'failed' || table.state === 'none') break;
      await page.waitForTimeout(1000);
    }
    await page.addInitScript(`
      window.long = [];
      new PerformanceObserver((list) => long.push(...list.getEntries().map(({ duration }) => duration))).observe({
        type: 'longtask',
      });
    `);
    const start = performance.now();
    await page.goto(`/m/1/waves/${capture}`);
    await page.locator('canvas[aria-label^="2 traces"]').waitFor({ timeout: PATIENCE_MS });
    console.log(`from the press to the picture of both: ${(performance.now() - start).toFixed(0)} ms`);
    await page.locator('.waves-list button').first().waitFor({ timeout: PATIENCE_MS });
    console.log(`… to the first difference, named: ${(performance.now() - start).toFixed(0)} ms`);
    await page.locator('.waves-measures tbody tr').first().waitFor({ timeout: PATIENCE_MS });
    console.log(`… to what is measured on both: ${(performance.now() - start).toFixed(0)} ms`);
    const long = await page.evaluate<number[]>('long');
    const still = Math.max(0, ...long);
    console.log(
      `the page stood still for ${still.toFixed(0)} ms at most (limit ${LIMITS.still})${still > LIMITS.still ? '  OVER' : ''}`,
    );
    for (const share of SHARES) report(share, await panned(page, share));
    for (const trouble of bench.troubles) console.log(`trouble: ${trouble}`);
  } finally {
    await bench.close();
    await endBrowser();
  }
} finally {
  rmSync(work, { recursive: true, force: true });
}
