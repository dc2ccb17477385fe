/** How much a finding weighs: an error must be mended before anything is computed, with a warning work goes on. */
export type Severity = 'error' | 'warning';

/** Stable names of what can be wrong with a machine folder. */
export type FindingCode =
  // the file as such
  | 'file-missing'
  | 'file-too-large'
  | 'encoding'
  | 'binary'
  | 'separator'
  | 'decimal-comma'
  | 'header'
  | 'quote'
  | 'row-length'
  | 'not-a-table'
  | 'json-syntax'
  // one cell or field
  | 'missing'
  | 'not-a-number'
  | 'ambiguous-number'
  | 'out-of-range'
  | 'implausible'
  | 'unknown-word'
  | 'bad-name'
  | 'bad-pins'
  | 'bad-date'
  | 'bad-wave'
  | 'wrong-kind'
  | 'unused'
  | 'format'
  // one thing against another
  | 'duplicate'
  | 'unknown-type'
  | 'unknown-net'
  | 'unknown-point'
  | 'unknown-condition'
  | 'unknown-unit'
  | 'unknown-instrument'
  | 'unknown-board'
  // the circuit
  | 'two-drives'
  | 'driven-rail'
  | 'single-pin'
  | 'undriven-island'
  | 'joined-pins';

/** One thing wrong or doubtful in a machine folder. */
export interface Finding {
  readonly severity: Severity;
  readonly code: FindingCode;
  readonly file: string;
  /** Row as a spreadsheet counts, the header being 1; the line in machine.json when it cannot be parsed. */
  readonly row?: number;
  /** Column heading, or the path of a field of machine.json, such as `rails[2].volts`. */
  readonly column?: string;
  /** The text that stands there, cut when it is long. */
  readonly found?: string;
  /** What was found, what belongs there, and the mend. */
  readonly message: string;
}

/** Where a finding is. */
export type Place = Pick<Finding, 'file' | 'row' | 'column' | 'found'>;

/** A few hundred findings help a person as little as a hundred thousand would: beyond this many of one code in one file they are counted. */
const KEPT_PER_CODE = 100;
/** Looking for similar names is the one costly part of a message. */
const EXPLAINED_PER_CODE = 20;

/** Collects findings, with a bounded number of each code in each file, and counts the rest. */
export class FindingList {
  readonly #kept: Finding[] = [];
  readonly #counts = new Map<
    string,
    { count: number; severity: Severity; code: FindingCode; file: string }
  >();

  error(code: FindingCode, place: Place, message: string): void {
    this.#add('error', code, place, message);
  }

  warning(code: FindingCode, place: Place, message: string): void {
    this.#add('warning', code, place, message);
  }

  /** Whether the next finding of this code is still worth a search for similar names. */
  explains(code: FindingCode, file: string): boolean {
    return (
      (this.#counts.get(`error ${code} ${file}`)?.count ?? 0) < EXPLAINED_PER_CODE &&
      (this.#counts.get(`warning ${code} ${file}`)?.count ?? 0) < EXPLAINED_PER_CODE
    );
  }

  /** All findings in the order they were made; last, a line for each code that was cut short. */
  all(): readonly Finding[] {
    const rest = [...this.#counts.values()]
      .filter(({ count }) => count > KEPT_PER_CODE)
      .map(({ count, severity, code, file }): Finding => {
        return {
          severity,
          code,
          file,
          message: `${count - KEPT_PER_CODE} more of this kind (${code}) in ${file}`,
        };
      });
    return [...this.#kept, ...rest];
  }

  #add(severity: Severity, code: FindingCode, place: Place, message: string): void {
    const key = `${severity} ${code} ${place.file}`;
    const entry = this.#counts.get(key) ?? { count: 0, severity, code, file: place.file };
    this.#counts.set(key, entry);
    entry.count++;
    if (entry.count > KEPT_PER_CODE) return;
    const found = place.found === undefined ? {} : { found: cut(place.found) };
    this.#kept.push({ severity, code, ...place, ...found, message });
  }
}

const LONGEST_FOUND = 60;

function cut(text: string): string {
  return text.length > LONGEST_FOUND ? `${text.slice(0, LONGEST_FOUND)}…` : text;
}

/** A text in double quotes for a message: control characters escaped, a long one cut. */
export function shown(text: string): string {
  return JSON.stringify(cut(text));
}

/**
 * The findings for a person, one line each, errors first: `parts.csv row 14 column pins: …`. Warnings say so.
 *
 * @param most  lines at most; the last line then counts what was left out
 */
export function formatFindings(findings: readonly Finding[], most = 60): string {
  const ordered = [
    ...findings.filter(({ severity }) => severity === 'error'),
    ...findings.filter(({ severity }) => severity === 'warning'),
  ];
  const lines = ordered.slice(0, most).map(line);
  const left = ordered.slice(most);
  if (left.length > 0) {
    const errors = left.filter(({ severity }) => severity === 'error').length;
    lines.push(`and ${counted(errors, 'error')} and ${counted(left.length - errors, 'warning')} more`);
  }
  return lines.join('\n');
}

/** `3 errors`, `1 error`, `no errors`. */
function counted(count: number, noun: string): string {
  return `${count === 0 ? 'no' : count.toLocaleString('en')} ${noun}${count === 1 ? '' : 's'}`;
}

function line({ severity, file, row, column, message }: Finding): string {
  const json = file.endsWith('.json');
  const place = [
    file,
    ...(row === undefined ? [] : [`${json ? 'line' : 'row'} ${row}`]),
    ...(column === undefined ? [] : [json && row === undefined ? column : `column ${column}`]),
  ].join(' ');
  return `${severity === 'warning' ? 'warning: ' : ''}${place}: ${message}`;
}
