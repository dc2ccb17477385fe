import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { CaptureResult } from './capture.ts';
import { inPieces, words } from './test-reading.ts';
import { valueChangeReader } from './value-change.ts';

const HEAD = '$timescale 1 us $end $scope module rack $end ';
const BODY = '$upscope $end $enddefinitions $end ';

function read(text: string, sizes = [11]): CaptureResult {
  return inPieces(valueChangeReader('capture.vcd'), new TextEncoder().encode(text), sizes);
}

/** Signals as `name state@microseconds …`. */
function signals({ capture, findings }: CaptureResult): string[] {
  expect(capture, words(findings)).toBeDefined();
  return capture!.logic.map(({ name, states, instants }) =>
    [name, ...states.map((state, i) => `${state}@${Math.round(instants[i]! * 1e6)}`)].join(' '),
  );
}

describe('value change dumps', () => {
  it('name signals by their scopes, keep the index of a bit and drop the range of a vector', () => {
    const text = `${HEAD}$var wire 1 a CP $end $scope task add $end $var reg 4 b SUM [3:0] $end $upscope $end
      $var wire 1 c SUM [2] $end ${BODY} #0 0a b101 b 1c #7`;
    expect(signals(read(text))).toEqual(['rack.CP 0@0', 'rack.add.SUM 0101@0', 'rack.SUM[2] 1@0']);
  });

  it('extend a short value to the left: 0 and 1 with 0, x with x, z with z', () => {
    const extended = ['b1', 'b01', 'bx1', 'BZ', 'bX0', 'b0z']
      .map((value, i) => `#${i} ${value} v`)
      .join('\n');
    expect(signals(read(`${HEAD}$var reg 4 v V $end ${BODY}${extended}\n`))).toEqual([
      'rack.V 0001@0 xxx1@2 zzzz@3 xxx0@4 000z@5',
    ]);
  });

  it('a signal is unknown before its first value, and a repeated value is no change', () => {
    const text = `${HEAD}$var wire 1 a A $end $var wire 1 b B $end $var wire 1 c C $end ${BODY}#5 0a #6 0a 1b #9 1a`;
    expect(signals(read(`${text}\n`))).toEqual(['rack.A 0@5 1@9', 'rack.B x@5 1@6', 'rack.C x@5']);
  });

  it('of two values at one time the later one counts', () => {
    expect(signals(read(`${HEAD}$var wire 1 a A $end ${BODY}#1 0a #2 1a 0a #3 1a #3 0a #4 1a `))).toEqual([
      'rack.A 0@1 1@4',
    ]);
  });

  it('two names of one code have the same changes', () => {
    const text = `${HEAD}$var wire 1 a A $end $scope begin inner $end $var wire 1 a B $end $upscope $end ${BODY}#1 0a #2 1a `;
    expect(signals(read(text))).toEqual(['rack.A 0@1 1@2', 'rack.inner.B 0@1 1@2']);
  });

  it('while recording is off all is unknown, and that is said', () => {
    const text = `${HEAD}$var wire 1 a A $end ${BODY}#1 $dumpvars 0a $end #5 $dumpoff xa $end #6 1a #8 $dumpon 1a $end #9 `;
    const result = read(text);
    expect(signals(result)).toEqual(['rack.A 0@1 x@5 1@8']);
    expect(words(result.findings)).toContain('recording was off from 0.000005 s to 0.000008 s');
  });

  it('a real variable is a trace of steps that ends with the record', () => {
    const { capture } = read(
      `${HEAD}$var real 64 r V $end ${BODY}#0 r-11.5 r #10 R0.25e1 r #11 r2.5 r #12 r-1 r #20 `,
    );
    const { name, timebase, values } = capture!.traces[0]!;
    expect(name).toBe('rack.V');
    expect('stamps' in timebase && [...timebase.stamps].map((stamp) => Math.round(stamp * 1e6))).toEqual([
      0, 9, 10, 11, 12, 20,
    ]);
    expect([...values]).toEqual([-11.5, -11.5, 2.5, 2.5, -1, -1]);
  });

  it('events are left out, and reported; comments hold anything', () => {
    const result = read(
      `$comment $date and #5 1a \u2013 $end ${HEAD}$var event 1 e GO $end $var wire 1 a A $end ${BODY}#0 1e 0a $comment 1a $end #1 1e `,
    );
    expect(signals(result)).toEqual(['rack.A 0@0']);
    expect(words(result.findings)).toContain('rack.GO is an event, which has no state');
  });

  it('what was written is read, in pieces of any size and with line ends anywhere', () => {
    const recorded = fc.record({
      steps: fc.array(
        fc.tuple(fc.integer({ min: 1, max: 9 }), fc.constantFrom('0', '1', 'x', 'z'), fc.nat(15)),
      ),
      gap: fc.constantFrom(' ', '\n', '\r\n', '\t'),
      sizes: fc.array(fc.integer({ min: 1, max: 40 }), { minLength: 1 }),
    });
    fc.assert(
      fc.property(recorded, ({ steps, gap, sizes }) => {
        let time = 0;
        const lines = ['#0', '0a', 'b0 v'];
        const expected = { a: ['0@0'], v: ['0000@0'] };
        for (const [step, bit, word] of steps) {
          time += step;
          lines.push(`#${time}`, `${bit}a`, `b${word.toString(2)} v`);
          const state = word.toString(2).padStart(4, '0');
          if (!expected.a.at(-1)!.startsWith(bit)) expected.a.push(`${bit}@${time}`);
          if (!expected.v.at(-1)!.startsWith(state)) expected.v.push(`${state}@${time}`);
        }
        const text = `${HEAD}$var wire 1 a A $end $var reg 4 v V $end ${BODY}${lines.join(gap)}${gap}`;
        expect(signals(read(text, sizes))).toEqual([
          `rack.A ${expected.a.join(' ')}`,
          `rack.V ${expected.v.join(' ')}`,
        ]);
      }),
    );
  });

  it.each(['#4 b101', '#4 1', '#4 1ab'])('a file cut at %j loses that word, and says so', (end) => {
    const result = read(`${HEAD}$var wire 1 abc A $end ${BODY}#1 0abc\n${end}`);
    expect(signals(result)).toEqual(['rack.A 0@1']);
    expect(words(result.findings)).toContain('row 2: the file ends in the middle of a word');
  });

  it.each([
    ['no timescale', '$var wire 1 a A $end $enddefinitions $end #0 0a ', 'row 1: no $timescale'],
    ['another timescale', '$timescale 3 us $end ', 'timescale "3us"; 1, 10 or 100'],
    ['a code without a variable', `${HEAD}${BODY}\n#0\n0a `, 'row 3: a value for the code "a"'],
    ['too many bits', `${HEAD}$var reg 2 v V $end ${BODY}#0 b101 v `, '3 bits for a signal of 2'],
    ['other letters', `${HEAD}$var reg 4 v V $end ${BODY}#0 b1u v `, 'other letters than 0, 1, x and z'],
    ['bits of a real variable', `${HEAD}$var real 64 r V $end ${BODY}#0 b1 r `, 'b1 for a real variable'],
    ['no real value', `${HEAD}$var real 64 r V $end ${BODY}#0 r1.2.3 r `, 'r1.2.3 is no real value'],
    [
      'a time that goes back',
      `${HEAD}$var wire 1 a A $end ${BODY}#9 0a\n#3 1a `,
      'row 2: the time goes back from 9 to 3',
    ],
    ['no time', `${HEAD}$var wire 1 a A $end ${BODY}#x 0a `, '"#x" is no time'],
    ['an unknown keyword', `${HEAD}$vari wire 1 a A $end `, '"$vari" is no keyword'],
    ['a word that is nothing', `${HEAD}${BODY}#0 hello `, '"hello" is neither a time (#) nor a value'],
    ['values before the definitions end', `${HEAD}#0 0a `, '"#0" before $enddefinitions'],
    ['no end of the definitions', `${HEAD}`, 'the file ends before $enddefinitions'],
    ['an endless section', `${HEAD}${BODY}$date `, '$date has no $end'],
    ['no variables', `${HEAD}${BODY}#0 `, 'the file defines no variable'],
    ['two widths of one code', `${HEAD}$var reg 2 v V $end $var reg 3 v W $end `, 'different kind or width'],
    ['NUL bytes', `${HEAD}\u0000`, 'a control byte (0x0)'],
    ['an endless word', 'x'.repeat(100_000), 'a word of more than 16 kB'],
  ])('with %s are refused with the line', (_, text, message) => {
    const { capture, findings } = read(text, [9000]);
    expect(capture).toBeUndefined();
    expect(words(findings)).toContain(message);
  });
});
