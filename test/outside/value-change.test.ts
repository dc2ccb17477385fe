/**
 * Value change dumps in the form of IEEE Std 1364, against what a person read in them: vcd/expected.csv of the reference data. The
 * files are its own, invented.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { type Capture, kindOfCapture, type LogicTrace, valueChangeReader } from '../../src/capture/index.ts';
import { referenceFolder, referenceTable } from './captures-folder.ts';

const FOLDER = referenceFolder('vcd');
const EXPECTED = FOLDER === undefined ? [] : referenceTable(FOLDER, 'expected.csv');

function capture(file: string): Capture {
  const bytes = readFileSync(join(FOLDER!, file));
  expect(kindOfCapture(bytes, file)).toBe('vcd');
  const reader = valueChangeReader(file);
  for (let at = 0; at < bytes.length; at += 7) reader.push(bytes.subarray(at, at + 7));
  const result = reader.end();
  expect(result.findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return result.capture!;
}

function expected(file: string, quantity: string): string {
  return EXPECTED.find((row) => row.file === file && row.quantity === quantity)!.value!;
}

function signal({ logic }: Capture, name: string): LogicTrace {
  return logic.find((one) => one.name.split('.').at(-1) === name)!;
}

/** State at a number of ticks. */
function stateAt({ instants, states }: LogicTrace, ticks: number, tick: number): string {
  return states[instants.findLastIndex((instant) => Math.round(instant / tick) <= ticks)]!;
}

/** Changes as `state@ticks`. */
function changes({ instants, states }: LogicTrace, tick: number): string[] {
  return states.map((state, i) => `${state}@${Math.round(instants[i]! / tick)}`);
}

describe.skipIf(FOLDER === undefined)('value change dumps of the reference data', () => {
  it('four states, extension to the left, a record that starts late and is off for a while', () => {
    const file = 'made_four_state.vcd';
    const tick = Number(expected(file, 'timescale_s'));
    const read = capture(file);
    expect(read.logic.map(({ name, width }) => `${name} ${width}`)).toEqual([
      'rack.drum.head 1',
      'rack.drum.gate 1',
      'rack.drum.latch 1',
      'rack.load.word 24',
      'rack.load.count 32',
    ]);
    expect(read.logic.length + read.traces.length).toBe(Number(expected(file, 'variables')));
    for (const { instants, end } of read.logic) {
      expect(instants[0]).toBeCloseTo(Number(expected(file, 'first_time')) * tick, 18);
      expect(end).toBeCloseTo(Number(expected(file, 'last_time')) * tick, 18);
    }
    for (const [name, at] of [
      ['word', 204],
      ['count', 204],
      ['word', 226],
      ['latch', 222],
    ] as const) {
      expect(stateAt(signal(read, name), at, tick)).toBe(expected(file, `${name}_at_${at}`));
    }
    const latch = changes(signal(read, 'latch'), tick);
    const within = latch.filter((change) => /@(20[4-9]|21\d|22\d|23[0-6])$/.test(change));
    expect(within).toEqual(['1@204', '0@211', '1@219', '0@226', '1@236']);
    expect(within.length).toBe(Number(expected(file, 'latch_changes_from_204_to_236')));
    expect(stateAt(signal(read, 'latch'), 1000, tick)).toBe('x');
    expect(latch.slice(-3)).toEqual(['x@700', '0@1500', '1@1511']);
  });

  it('several changes on a line, a time written twice, real values', () => {
    const file = 'made_logic_edges.vcd';
    const tick = Number(expected(file, 'timescale_s'));
    const read = capture(file);
    expect(read.logic.length + read.traces.length).toBe(Number(expected(file, 'variables')));
    const clock = changes(signal(read, 'CP1'), tick);
    expect(clock).toEqual(['0@0', '1@5', '0@10', '1@15', '0@20', '1@25', '0@30']);
    expect(clock.filter((change) => change.startsWith('1')).length).toBe(
      Number(expected(file, 'CP1_rising_edges')),
    );
    expect(stateAt(signal(read, 'DIGIT'), 13, tick)).toBe(expected(file, 'DIGIT_at_13'));
    expect(stateAt(signal(read, 'DIGIT'), 21, tick)).toBe(expected(file, 'DIGIT_at_21'));
    expect(changes(signal(read, 'STROBE'), tick).join(' ')).toBe(expected(file, 'STROBE_sequence'));
    expect(signal(read, 'CP1').end).toBeCloseTo(Number(expected(file, 'end_time_us')) * tick, 12);
    const [collector] = read.traces;
    const stamps = 'stamps' in collector!.timebase ? collector!.timebase.stamps : new Float64Array();
    expect([...stamps].map((stamp) => Math.round(stamp / tick))).toEqual([0, 19, 20, 100]);
    expect(collector!.values[2]).toBeCloseTo(Number(expected(file, 'VCOLL_at_20')), 6);
    expect([...collector!.values].map((value) => value.toFixed(2))).toEqual([
      '-11.80',
      '-11.80',
      '-0.31',
      '-0.31',
    ]);
  });

  it('capital letters, CR LF, a vector of one digit, an event', () => {
    const file = 'made_crlf_dumpoff.vcd';
    const tick = Number(expected(file, 'timescale_s'));
    const read = capture(file);
    const register = signal(read, 'reg8');
    expect(stateAt(register, 1001, tick)).toBe(expected(file, 'reg8_at_1001'));
    expect(stateAt(register, 1003, tick)).toBe(expected(file, 'reg8_at_1003'));
    expect(changes(signal(read, 'q'), tick)).toEqual(['0@1000', '1@1001', 'x@1010', '1@1020', '0@1030']);
    expect(register.instants[0]).toBeCloseTo(Number(expected(file, 'first_time_s')), 12);
  });
});
