import { type Finding, formatFindings } from '../machine/index.ts';
import { InputError } from './input-error.ts';

/** A capture that cannot be read: where, and why. Nothing of it was kept. */
export class CaptureRefusal extends InputError {
  readonly findings: readonly Finding[];

  constructor(findings: readonly Finding[]) {
    super('capture', formatFindings(findings));
    this.findings = findings;
  }
}
