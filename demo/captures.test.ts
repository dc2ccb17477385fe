import { describe, expect, it } from 'vitest';
import { CaptureReading } from '../src/capture/index.ts';
import { comparison, edgesOf, type Trace } from '../src/waveform/index.ts';
import { type DemoCaptures, demoCaptures } from './captures.ts';
import { DEFAULT_SEED } from './readings.ts';
import { DEFAULT_SCENARIO, SCENARIOS, type Scenario } from './scenarios.ts';

const KEPT = SCENARIOS.filter((s) => s.screens !== undefined);

function read(kept: DemoCaptures, file: string): readonly Trace[] {
  const reading = new CaptureReading(file);
  reading.push(new TextEncoder().encode(kept.files.get(file)!));
  const { capture, findings } = reading.end();
  expect(findings).toEqual([]);
  return capture!.traces;
}

/** Channels by unit and point, as the folder's rows have them. */
function channelsOf(kept: DemoCaptures): Map<string, Trace> {
  return new Map(
    kept.captures.flatMap(({ file, unit }) => {
      const traces = read(kept, file);
      return kept.channels
        .filter((channel) => channel.file === file)
        .map(
          ({ channel, point }) => [`${unit} ${point}`, traces.find(({ name }) => name === channel)!] as const,
        );
    }),
  );
}

/** Points of a scenario at which the south unit is not as the north one, beyond the errors of two scopes and what units differ by. */
function differing(scenario: Scenario, seconds: number): string[] {
  const channels = channelsOf(demoCaptures(scenario, DEFAULT_SEED));
  const points = new Set(scenario.screens!.flatMap(([, list]) => list.split(' ')));
  return [...points].filter((point) => {
    const [north, south] = ['north', 'south'].map((unit) => channels.get(`${unit} ${point}`)!);
    const found = comparison(north!, south!, { amplitudeTolerance: 0.9, timingTolerance: seconds });
    if ('reason' in found) throw new Error(found.reason);
    return found.count > 0;
  });
}

function named(name: string): Scenario {
  return SCENARIOS.find((s) => s.name === name)!;
}

describe('the captures of both units', () => {
  it.each(KEPT.map((s) => [s.name, s] as const))(
    '%s: read as they were written, two channels of a screen each, small',
    (_, scenario) => {
      const kept = demoCaptures(scenario, DEFAULT_SEED);
      expect(kept.captures).toHaveLength(2 * scenario.screens!.length);
      let bytes = 0;
      for (const { file, unit } of kept.captures) {
        const traces = read(kept, file);
        expect(traces.map(({ name, unit: volts }) => `${name} ${volts}`)).toEqual(
          unit === 'north' ? ['CH1 V', 'CH2 V'] : ['A V', 'B V'],
        );
        for (const { values, timebase } of traces) {
          expect(values.length).toBe(unit === 'north' ? 1200 : 1000);
          expect('step' in timebase && timebase.step).toBeGreaterThan(1e-7);
        }
        bytes += kept.files.get(file)!.length;
      }
      expect(bytes).toBeLessThan(400_000);
    },
  );

  it('are written in two forms: commas and points in the north, semicolons and decimal commas in the south', () => {
    const { files } = demoCaptures(DEFAULT_SCENARIO, DEFAULT_SEED);
    for (const [file, text] of files) {
      const last = text.trimEnd().split(/\r?\n/).at(-1)!;
      expect(last).toMatch(
        file.startsWith('north') ? /^-?\d\.\d+e[+-]\d+(,-?\d+\.\d{3}){2}$/ : /^-?\d+,\d{3}(;-?\d+,\d{3}){2}$/,
      );
    }
  });

  it.each([
    ['fourteen too many', 6e-6, ['CARRY', 'HELD']],
    ['two and three by turns', 15e-6, ['BIT2', 'BIT4', 'BIT8']],
    // It ends two steps further on.
    ['no eight', 15e-6, ['BIT8', 'BIT2']],
    ['deaf at good levels', 80e-6, ['LNE.Q1.c', 'LNE.Q2.c', 'READ', 'PULSE']],
  ])(
    '%s: differ where they should and nowhere else, and not at all where nothing is wrong',
    (name, seconds, points) => {
      const scenario = named(name);
      expect(differing(scenario, seconds)).toEqual(points);
      expect(differing({ ...scenario, faults: [] }, seconds)).toEqual([]);
    },
  );

  it('run at clock rates that differ a little: the same generator is not as fast on both', () => {
    const channels = channelsOf(demoCaptures(DEFAULT_SCENARIO, DEFAULT_SEED));
    const [north, south] = ['north', 'south'].map((unit) => {
      const { mid, count } = edgesOf(channels.get(`${unit} P2`)!);
      expect(count).toBe(8);
      return mid[7]! - mid[0]!;
    });
    expect(Math.abs(south! / north! - 1)).toBeGreaterThan(5e-4);
    expect(Math.abs(south! / north! - 1)).toBeLessThan(0.03);
  });
});
