/** Dates as the page writes them, and as the log keeps them. */

const MONTHS = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];

/** `9 November 2024`: a day as it stands, a moment on this computer's clock; what is no date comes back as it is. */
export function dayWords(date: string): string {
  const [year, month, day] = date.length <= 10 ? date.split('-').map(Number) : localDay(date);
  const name = MONTHS[(month ?? 0) - 1];
  if (!year || !name) return date;
  return day ? `${day} ${name} ${year}` : `${name} ${year}`;
}

/** `9 Nov 2024` */
export function shortDay(date: string): string {
  return dayWords(date).replace(/[A-Z][a-z]+/, (name) => (name === 'September' ? 'Sept' : name.slice(0, 3)));
}

function localDay(moment: string): [number, number, number] | [] {
  const at = new Date(moment);
  return Number.isNaN(at.getTime()) ? [] : [at.getFullYear(), at.getMonth() + 1, at.getDate()];
}

/** Today on this computer's clock, as a date field has it: `2024-11-09`. */
export function today(now = new Date()): string {
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** Order in time; a day stands before its moments, no date before all. */
export function byDate(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
