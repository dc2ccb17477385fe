/** The text of a capture by its number, for a process that keeps it and for the test that looks whether it is whole. */

/** Samples of each. */
export const CAPTURE_ROWS = 120_000;

export function captureText(number: number): string {
  const rows = Array.from({ length: CAPTURE_ROWS }, (_, i) => `${i}e-6,${captureVolts(number, i)}\n`);
  return `TIME,CH1\ns,V\n${rows.join('')}`;
}

/** Sample `i`, volts. */
export function captureVolts(number: number, i: number): number {
  return ((i * (number + 3)) % 1009) / 8;
}
