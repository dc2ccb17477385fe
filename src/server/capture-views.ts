/** The shapes of answers about captures. Seconds from the trigger; volts or amperes, as the channel's unit says. */
import type { CaptureChannel } from '../records/index.ts';
import type { FindingView } from './views.ts';

export type { CaptureChannel };

export interface CaptureEntry {
  readonly id: number;
  readonly version: number;
  /** The name in `captures/`. */
  readonly file: string;
  readonly kind: 'text' | 'wav' | 'vcd';
  /** Bytes; 0 when the file is not there. */
  readonly size: number;
  /** Empty where nobody has said; so are the others. */
  readonly unit: string;
  readonly state: string;
  readonly takenAt: string;
  readonly instrument: string;
  readonly note: string;
  readonly channels: readonly CaptureChannel[];
}

/** A capture that was just read. */
export interface TakenCapture extends CaptureEntry {
  /** What was dropped, reversed or missing. */
  readonly findings: readonly FindingView[];
}

/** How a text is read: plain data, which may be corrected and handed back. */
export interface UnderstandingView {
  readonly kind: 'text';
  readonly signature: string;
  readonly encoding: 'utf-8' | 'utf-16le' | 'utf-16be' | 'windows-1252';
  readonly lineEnd: 'LF' | 'CR';
  readonly separator: ',' | ';' | '\t' | ' ';
  readonly decimal: '.' | ',';
  /** Lines before the first row of numbers. */
  readonly headerLines: number;
  /** Values are `cell * factor * probe + offset`, in `unit`. */
  readonly columns: readonly {
    readonly role: 'time' | 'sequence' | 'channel' | 'skip';
    readonly name: string;
    readonly unit: string;
    readonly factor: number;
    readonly probe: number;
    readonly offset: number;
  }[];
  /** Seconds of the first sample, where there is no column of times. */
  readonly start: number;
  /** Seconds from sample to sample, where there is no column of times. */
  readonly interval?: number;
  readonly samples?: number;
  /** What is not certain, in words. */
  readonly doubts: readonly string[];
}

export interface UnderstoodView {
  readonly kind: 'text' | 'wav' | 'vcd' | 'unknown';
  /** Of a text that can be read, or could if it were corrected; null else. */
  readonly understanding: UnderstandingView | null;
  /** The first rows as they are parted into cells; empty where there is no understanding. */
  readonly rows: readonly { readonly line: number; readonly cells: readonly string[] }[];
  /** What must be corrected before the text can be read, in words. */
  readonly faults: readonly string[];
  /** Why the file cannot be read at all. */
  readonly findings: readonly FindingView[];
  /** Whether a file of the instrument was corrected before, and that was taken again. */
  readonly remembered: boolean;
  /** Of a sound file: the volts of full scale that were given last for this instrument, of all channels or each; null for none. */
  readonly fullScale: number | readonly (number | null)[] | null;
}
