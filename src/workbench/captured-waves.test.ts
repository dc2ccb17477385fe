import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { voltsAt } from '../machine/index.ts';
import type { Trace } from '../waveform/index.ts';
import { waveOfTrace } from './captured-waves.ts';
import { importMachine, openFolder, predictedWaves } from './index.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

/** An RC driven by what was captured: 20 us low, then high, through a ten-to-one probe. */
function written(): string {
  const machine = join(folder, 'rc');
  mkdirSync(join(machine, 'captures'), { recursive: true });
  const rows = Array.from({ length: 401 }, (_, i) => `${(i * 5e-7).toExponential(6)},${i < 40 ? -0.6 : 0}`);
  const files = {
    'machine.json': JSON.stringify({ format: 1, name: 'rc', reference: '0V' }),
    'parts.csv':
      'board,ref,kind,type,value,pins\nA,R1,resistor,,10k,1=IN 2=OUT\nA,C1,capacitor,,1n,1=OUT 2=0V\n',
    'conditions.csv': 'condition,net,role,volts,ohms,wave\nstep,IN,drive,-6,,capture step.csv CH1\n',
    'states.csv': 'condition,watch\nstep,100u\n',
    'captures.csv': 'file\nstep.csv\n',
    'capture-channels.csv': 'file,channel,point,factor\nstep.csv,CH1,IN,10\n',
    'captures/step.csv': `Time (s),CH1 (V)\n${rows.join('\n')}\n`,
  };
  for (const [name, text] of Object.entries(files)) writeFileSync(join(machine, name), text);
  return machine;
}

describe('a capture that drives', () => {
  it('is told by lines that stay near its samples, far fewer than they are', () => {
    const values = Float32Array.from(
      { length: 20_000 },
      (_, i) => -6 * Math.exp(-i / 3000) + (i > 15_000 ? 2 : 0),
    );
    const trace: Trace = { name: '', unit: 'V', timebase: { start: -1e-3, step: 1e-7 }, values };
    const wave = waveOfTrace(trace)!;
    if (wave.kind !== 'samples') throw new Error(wave.kind);
    expect(wave.instants.length).toBeLessThan(100);
    for (let i = 0; i < values.length; i += 7)
      expect(Math.abs(voltsAt(wave, i * 1e-7) - values[i]!)).toBeLessThan(0.07);
  });

  it('moves the circuit of a folder and of a record alike, with its probe counted', async () => {
    const place = written();
    const record = join(folder, 'record');
    await importMachine(place, record);
    for (const from of [place, { record }]) {
      const { machine } = await openFolder(from);
      const [wave] = predictedWaves(machine, { condition: 'step', points: ['OUT'] }).waves;
      const at = (t: number): number => wave!.volts[wave!.instants.findIndex((x) => x >= t)]!;
      expect(wave!.volts[0]).toBeCloseTo(-6, 1);
      // One RC after the step, which the samples put between 19.5 and 20 us.
      expect(at(30e-6)).toBeCloseTo(-6 * Math.exp(-1), 0);
      expect(wave!.volts.at(-1)).toBeCloseTo(0, 1);
    }
  });

  it('that is gone is said to be so', async () => {
    const place = written();
    rmSync(join(place, 'captures', 'step.csv'));
    const { machine } = await openFolder(place);
    expect(() => predictedWaves(machine, { condition: 'step' })).toThrow(/a capture that is not there/);
  });
});
