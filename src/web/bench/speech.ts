/** The next point aloud, by the browser's own voice. */

const PINS: Readonly<Record<string, string>> = {
  e: 'emitter',
  b: 'base',
  c: 'collector',
  a: 'anode',
  k: 'cathode',
  w: 'wiper',
};

/** `ADD/Q5.c` as it is said: `A D D, Q 5, collector`. */
export function spokenPoint(point: string): string {
  const [board, rest] = point.includes('/')
    ? [point.slice(0, point.indexOf('/')), point.slice(point.indexOf('/') + 1)]
    : ['', point];
  const dot = rest.lastIndexOf('.');
  const pin = dot < 0 ? undefined : rest.slice(dot + 1);
  const name = pin === undefined ? rest : rest.slice(0, dot);
  return [board && spelt(board), spelt(name), pin && (PINS[pin] ?? `pin ${spelt(pin)}`)]
    .filter(Boolean)
    .join(', ');
}

/** Letters one by one, figures together, signs by name. */
function spelt(text: string): string {
  const sign = /^[-−](?=\d)/.test(text) ? 'minus ' : /^\+(?=\d)/.test(text) ? 'plus ' : '';
  const letters = text.replaceAll(/([A-Za-z])/g, ' $1 ').replaceAll(/[./_+−-]/g, ' ');
  return sign + letters.replaceAll(/\s+/g, ' ').trim();
}

/** Says it, in place of what was being said. Where the browser has no voice, nothing happens. */
export function speak(text: string): void {
  if (typeof speechSynthesis === 'undefined') return;
  speechSynthesis.cancel();
  speechSynthesis.speak(new SpeechSynthesisUtterance(text));
}

export function hush(): void {
  if (typeof speechSynthesis !== 'undefined') speechSynthesis.cancel();
}
