import type { Condition } from './model.ts';

/** Whether a condition moves: a drive has a wave, or the stretch that is looked at is stated, as for an oscillator. */
export function isRunning({ drives, watch }: Condition): boolean {
  return watch !== undefined || drives.some(({ wave }) => wave !== undefined);
}
