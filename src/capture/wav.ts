/**
 * Sound files of wave form (RIFF WAVE): whole numbers of 8 to 32 bits and floating point of 32 and 64, with chunks of any kind
 * about them. Layout and format codes: Microsoft and IBM, "Multimedia Programming Interface and Data Specifications 1.0" (1991);
 * RFC 2361 (1998) for the register of codes; both from memory.
 */

import type { Finding } from '../machine/index.ts';
import type { Timebase, Trace } from '../waveform/index.ts';
import { type CaptureReader, type CaptureResult, mostSamples, Refusal, RefusingReader } from './capture.ts';
import { type GrowingFloats, growingSingles } from './growing-floats.ts';

/** What a sound card's numbers stand for, which no file says. */
export interface WavScale {
  /** Volts at full scale, one for all channels or one for each; where none is given the values are shares of full scale. */
  readonly fullScale?: number | readonly (number | undefined)[];
}

const PCM = 1;
const FLOAT = 3;
const EXTENSIBLE = 0xfffe;
/** Compressed or otherwise not read, by the register's names. */
const OTHER_FORMATS: Readonly<Record<number, string>> = {
  2: 'WAVE_FORMAT_ADPCM',
  6: 'WAVE_FORMAT_ALAW',
  7: 'WAVE_FORMAT_MULAW',
  17: 'WAVE_FORMAT_DVI_ADPCM',
  49: 'WAVE_FORMAT_GSM610',
  64: 'WAVE_FORMAT_G721_ADPCM',
  80: 'WAVE_FORMAT_MPEG',
  85: 'WAVE_FORMAT_MPEGLAYER3',
};
/** The last 14 bytes of the identifier of an extensible format; the first two are the format code. */
const SUBFORMAT = [0, 0, 0, 0, 16, 0, 128, 0, 0, 170, 0, 56, 155, 113];
/** A writer that streams does not know the length beforehand. */
const UNKNOWN_LENGTHS = [0, 0xffffffff];
const MOST_CHANNELS = 64;
/** Bytes of a format chunk that are looked at. */
const FORMAT_BYTES = 40;

interface WavFormat {
  readonly channels: number;
  readonly rate: number;
  /** Bytes of one value. */
  readonly bytes: number;
  readonly float: boolean;
}

/** Reads a sound file. Memory: 4 bytes a sample of each channel, once more for one of them at the end. */
export function wavReader(file: string, scale: WavScale = {}): CaptureReader {
  return new WavReader(file, scale);
}

class WavReader extends RefusingReader {
  readonly #file: string;
  readonly #scale: WavScale;
  /** Bytes of a header or frame of which the rest has not come. */
  #held = new Uint8Array(0);
  #at = 0;
  #opened = false;
  #skip = 0;
  #format: WavFormat | undefined;
  #channels: GrowingFloats<Float32Array<ArrayBuffer>>[] = [];
  /** Bytes that the data chunk still has; undefined outside of it. */
  #left: number | undefined;
  #stated = 0;
  #done = false;
  rows = 0;

  constructor(file: string, scale: WavScale) {
    super();
    this.#file = file;
    this.#scale = scale;
  }

  protected take(piece: Uint8Array): void {
    let bytes = piece;
    if (this.#held.length > 0) {
      bytes = new Uint8Array(this.#held.length + piece.length);
      bytes.set(this.#held);
      bytes.set(piece, this.#held.length);
    }
    let from = 0;
    while (!this.#done) {
      const used = this.#step(bytes.subarray(from));
      if (used === 0) break;
      from += used;
      this.#at += used;
    }
    this.#held = this.#done ? new Uint8Array(0) : bytes.slice(from);
  }

  /** Takes the next header, chunk or frames; the number of bytes taken, 0 where more are needed. */
  #step(bytes: Uint8Array): number {
    if (this.#skip > 0) {
      const used = Math.min(this.#skip, bytes.length);
      this.#skip -= used;
      return used;
    }
    if (this.#left !== undefined) return this.#frames(bytes);
    if (bytes.length < 12) {
      // The last chunk may be an empty one of eight bytes; a shorter rest is none.
      if (!this.#opened || bytes.length < 8) return 0;
    }
    if (!this.#opened) {
      const form = text(bytes, 0);
      if ((form !== 'RIFF' && form !== 'RF64') || text(bytes, 8) !== 'WAVE') {
        const message =
          form === 'RIFX'
            ? 'a big-endian wave file (RIFX) is not read; save it as WAV'
            : 'the file does not begin as a wave file does (RIFF, WAVE)';
        throw this.#refusal(message);
      }
      this.#opened = true;
      return 12;
    }
    const name = text(bytes, 0);
    const size = view(bytes).getUint32(4, true);
    if (name === 'fmt ') {
      if (bytes.length < 8 + Math.min(size, FORMAT_BYTES)) return 0;
      this.#setFormat(bytes.subarray(8, 8 + Math.min(size, FORMAT_BYTES)));
      this.#skip = size + (size & 1);
      return 8;
    }
    if (name === 'data') {
      if (this.#format === undefined)
        throw this.#refusal('the samples (data) come before their format (fmt)');
      this.#stated = size;
      this.#left = UNKNOWN_LENGTHS.includes(size) ? Number.POSITIVE_INFINITY : size;
      return 8;
    }
    this.#skip = size + (size & 1);
    return 8;
  }

  #setFormat(chunk: Uint8Array): void {
    if (chunk.length < 16) throw this.#refusal(`a format chunk of ${chunk.length} bytes; it has 16 at least`);
    const data = view(chunk);
    let code = data.getUint16(0, true);
    if (code === EXTENSIBLE) {
      if (chunk.length < 40) throw this.#refusal('an extensible format (0xFFFE) without its subformat');
      code = data.getUint16(24, true);
      if (!SUBFORMAT.every((byte, i) => chunk[26 + i] === byte)) {
        throw this.#refusal('an extensible format (0xFFFE) with a subformat that is in no register');
      }
    }
    const channels = data.getUint16(2, true);
    const rate = data.getUint32(4, true);
    const block = data.getUint16(12, true);
    const bits = data.getUint16(14, true);
    if (code !== PCM && code !== FLOAT) {
      const hex = `0x${code.toString(16).toUpperCase().padStart(4, '0')}`;
      throw this.#refusal(
        `format code ${hex} (${OTHER_FORMATS[code] ?? 'not known here'}) is not read; save it uncompressed, as PCM or float`,
      );
    }
    if (channels < 1 || channels > MOST_CHANNELS) {
      throw this.#refusal(`${channels} channels; a capture has 1 to ${MOST_CHANNELS}`);
    }
    if (rate < 1) throw this.#refusal('0 samples a second');
    // A value of 12 or 20 bits stands at the upper end of whole bytes.
    const bytes = block / channels;
    const sizes = code === FLOAT ? [4, 8] : [1, 2, 3, 4];
    if (!sizes.includes(bytes) || bits > bytes * 8 || bits <= (bytes - 1) * 8) {
      const allowed = code === FLOAT ? '32 or 64' : '8, 16, 24 or 32';
      throw this.#refusal(`values of ${bits} bits in ${bytes} bytes; ${allowed} bits are read`);
    }
    this.#format = { channels, rate, bytes, float: code === FLOAT };
    this.#channels = Array.from({ length: channels }, growingSingles);
  }

  #frames(bytes: Uint8Array): number {
    const { channels, bytes: size, float } = this.#format!;
    const frame = channels * size;
    const within = Math.min(bytes.length, this.#left!);
    const count = Math.floor(within / frame);
    const most = mostSamples(channels);
    if (this.rows + count > most) {
      throw this.#refusal(
        `more than ${most.toLocaleString('en')} samples a channel; save a part of the recording`,
        'file-too-large',
      );
    }
    const data = view(bytes);
    this.#channels.forEach((channel, c) => {
      const end = count * frame;
      for (let at = c * size; at < end; at += frame) channel.add(valueAt(data, at, size, float));
    });
    this.rows += count;
    this.#left! -= count * frame;
    // What is left of the chunk is less than a frame: nothing that follows is looked at.
    if (this.#left! < frame) this.#done = true;
    return count * frame;
  }

  protected finish(): CaptureResult {
    const format = this.#format;
    if (!this.#opened) throw this.#refusal('the file ends before the header of a wave file does');
    if (format === undefined || this.#left === undefined) {
      throw this.#refusal('the file holds no samples (no data chunk)');
    }
    if (this.rows < 2) throw this.#refusal('fewer than two samples; a waveform has two at least');
    const findings: Finding[] = [];
    const warn = (message: string) =>
      findings.push({ severity: 'warning', code: 'missing', file: this.#file, message });
    if (UNKNOWN_LENGTHS.includes(this.#stated)) {
      warn(
        `the length of the samples is not stated; ${this.rows} a channel were read to the end of the file`,
      );
    } else if (!this.#done) {
      const most = Math.floor(this.#stated / (format.channels * format.bytes));
      warn(`the file is cut short: ${this.rows} of ${most} samples a channel`);
    }
    const timebase: Timebase = { start: 0, step: 1 / format.rate };
    const { fullScale } = this.#scale;
    const traces = this.#channels.map((channel, i): Trace => {
      const volts = typeof fullScale === 'number' ? fullScale : fullScale?.[i];
      const values = channel.taken();
      if (volts !== undefined) for (let k = 0; k < values.length; k++) values[k]! *= volts;
      return { name: `channel ${i + 1}`, unit: volts === undefined ? '' : 'V', timebase, values };
    });
    return { capture: { traces, logic: [] }, findings };
  }

  #refusal(message: string, code: 'format' | 'file-too-large' = 'format'): Refusal {
    return new Refusal({ code, file: this.#file, message: `at byte ${this.#at}: ${message}` });
  }
}

/** A value as a share of full scale, -1 to 1: PCM of one byte is offset, longer ones have a sign. */
function valueAt(data: DataView, at: number, size: number, float: boolean): number {
  switch (size) {
    case 1:
      return (data.getUint8(at) - 128) / 0x80;
    case 2:
      return data.getInt16(at, true) / 0x8000;
    case 3:
      return ((data.getInt8(at + 2) << 16) | data.getUint16(at, true)) / 0x800000;
    case 4:
      return float ? data.getFloat32(at, true) : data.getInt32(at, true) / 0x80000000;
    default:
      return data.getFloat64(at, true);
  }
}

function view(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function text(bytes: Uint8Array, at: number): string {
  return String.fromCharCode(...bytes.subarray(at, at + 4));
}
