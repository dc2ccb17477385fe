/** What the scopes kept of both units: files as they write them, and the rows that say whose and where. */
import type { CaptureChannelRow, Machine, MachineCapture } from '../src/machine/index.ts';
import { tideGauge } from './machine/index.ts';
import { withFault } from './plant.ts';
import { Chance } from './random.ts';
import { NORTH_RUN, SOUTH_RUN, soundUnit } from './readings.ts';
import { settingNamed } from './running-readings.ts';
import { waveformsOf } from './running-unit.ts';
import type { Scenario } from './scenarios.ts';
import { sampled, scopeOf } from './scope.ts';

export interface DemoCaptures {
  /** Texts by name of the file. */
  readonly files: ReadonlyMap<string, string>;
  readonly captures: readonly MachineCapture[];
  readonly channels: readonly CaptureChannelRow[];
}

/** Samples of a screen; the travelling scope keeps fewer. */
const COUNTS = { north: 1200, south: 1000 } as const;
const NAMES = { north: ['CH1', 'CH2'], south: ['A', 'B'] } as const;

/** The captures of a scenario; none where nobody kept any. */
export function demoCaptures({ screens = [], faults }: Scenario, seed: number): DemoCaptures {
  const machine = tideGauge();
  const files = new Map<string, string>();
  const captures: MachineCapture[] = [];
  const channels: CaptureChannelRow[] = [];
  for (const visit of [NORTH_RUN, SOUTH_RUN]) {
    const id = visit.unit === 'north' ? 'north' : 'south';
    const sound = soundUnit(machine, id, seed);
    const unit: Machine = id === 'south' ? faults.reduce(withFault, sound) : sound;
    const chance = new Chance(seed, id, 'screens');
    const scope = scopeOf(visit.scope, new Chance(seed, id, 'scope'));
    screens.forEach(([condition, list], i) => {
      const points = list.split(' ');
      const setting = settingNamed(condition);
      const waveforms = waveformsOf(unit, setting, visit.ambient);
      const window = { ...setting.watch, count: COUNTS[id] };
      const shown = points.map((point) => sampled(scope, waveforms, point, window, chance));
      const file = `${[id, ...condition.split(' '), ...points].join('-').replaceAll('.', '-')}.csv`;
      const text = scope.text({
        channels: shown.map(({ trace }) => trace),
        screens: shown.map(({ screen }) => screen),
      });
      files.set(file, text);
      captures.push({
        file,
        unit: id,
        condition,
        takenAt: new Date(visit.start + (4 * 60 + 6 * i) * 60_000).toISOString().replace('.000', ''),
        instrument: visit.scope,
        note: `${points.join(' and ')} together`,
        understanding: '',
      });
      points.forEach((point, c) => {
        channels.push({
          file,
          channel: NAMES[id][c]!,
          point,
          factor: undefined,
          offset: undefined,
          note: '',
        });
      });
    });
  }
  return { files, captures, channels };
}
