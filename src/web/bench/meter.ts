import type { MachineView } from '../../server/index.ts';

/** Standard deviation of a meter's error at a reading, volts; without a known meter, 1 % of the reading and 10 mV. */
export function meterSigma(
  { instruments }: Pick<MachineView, 'instruments'>,
  name: string | undefined,
  value: number | undefined,
): number {
  const size = Math.abs(value ?? 0);
  const meter = instruments.find(({ id }) => id === name);
  if (!meter) return 0.01 * size + 0.01;
  return Math.hypot((meter.gain / 100) * size, (meter.random / 100) * size, meter.volts);
}
