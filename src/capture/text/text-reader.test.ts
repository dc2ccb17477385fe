import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { inPieces, instants, readText, words } from '../test-reading.ts';
import { textReader } from './text-reader.ts';
import { textUnderstanding } from './understanding.ts';

const encoder = new TextEncoder();

/** Rows of an even time and a value, by their number. */
function rows(count: number, row = (i: number) => `${(i * 1e-6).toFixed(6)},${(i % 7) - 3.25}`): string {
  return Array.from({ length: count }, (_, i) => `${row(i)}\n`).join('');
}

function refusal(text: string | Uint8Array): string {
  const { capture, findings } = readText(text);
  expect(capture).toBeUndefined();
  expect(findings).toHaveLength(1);
  return words(findings);
}

function report(text: string): string {
  const { capture, findings } = readText(text);
  expect(capture, words(findings)).toBeDefined();
  return words(findings);
}

type Encoding =
  | 'utf-8'
  | 'utf-8 with mark'
  | 'utf-16le'
  | 'utf-16be'
  | 'utf-16le without mark'
  | 'windows-1252';

function encoded(text: string, encoding: Encoding): Uint8Array {
  if (encoding === 'utf-8') return encoder.encode(text);
  if (encoding === 'utf-8 with mark') return encoder.encode(`\uFEFF${text}`);
  if (encoding === 'windows-1252') return Uint8Array.from(text, (letter) => letter.charCodeAt(0));
  const marked = encoding === 'utf-16le without mark' ? text : `\uFEFF${text}`;
  const bytes = new Uint8Array(2 * marked.length);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < marked.length; i++) {
    view.setUint16(2 * i, marked.charCodeAt(i), encoding !== 'utf-16be');
  }
  return bytes;
}

describe('any table', () => {
  const formats = fc.constantFrom<(value: number) => string>(
    (value) => value.toFixed(6),
    (value) => value.toExponential(7),
    (value) => `${value < 0 ? '' : '+'}${value.toExponential(9).replace('e', 'E')}`,
    (value) => String(value),
  );
  const layouts = fc.constantFrom(
    [',', '.'],
    [';', '.'],
    [';', ','],
    ['\t', '.'],
    ['\t', ','],
    [' ', '.'],
    [' ', ','],
  );
  const tables = fc.record({
    layout: layouts as fc.Arbitrary<[string, string]>,
    format: formats,
    lineEnd: fc.constantFrom('\n', '\r\n', '\r'),
    encoding: fc.constantFrom<Encoding>(
      'utf-8',
      'utf-8 with mark',
      'utf-16le',
      'utf-16be',
      'utf-16le without mark',
      'windows-1252',
    ),
    heading: fc.constantFrom('none', 'names', 'units in names', 'units row', 'settings'),
    values: fc
      .tuple(fc.integer({ min: 1, max: 4 }), fc.integer({ min: 3, max: 60 }))
      .chain(([channels, samples]) =>
        fc.array(
          fc.array(fc.double({ min: -250, max: 250, noNaN: true }), {
            minLength: channels,
            maxLength: channels,
          }),
          { minLength: samples, maxLength: samples },
        ),
      ),
    step: fc.constantFrom(1, 0.5, 1e-3, 4e-6),
    start: fc.integer({ min: -100, max: 100 }),
    ended: fc.boolean(),
    sizes: fc.array(fc.integer({ min: 1, max: 700 }), { minLength: 1, maxLength: 8 }),
  });

  it('reads the same numbers whatever its separators, signs, line ends, headings, encoding and pieces', () => {
    fc.assert(
      fc.property(
        tables,
        ({ layout, format, lineEnd, encoding, heading, values, step, start, ended, sizes }) => {
          // Whole numbers from 0 or 1 without a heading count the samples: their interval is asked for.
          fc.pre(heading !== 'none' || step !== 1 || (start !== 0 && start !== 1));
          const [separator, decimal] = layout;
          const channels = values[0]!.map((_, i) => `CH${i + 1}`);
          // Blanks part no words of a heading there.
          const unit = (name: string, word: string) =>
            separator === ' ' ? `${name}(${word})` : `${name} (${word})`;
          const headings: Record<string, string[][]> = {
            none: [],
            names: [['Time', ...channels]],
            'units in names': [[unit('Time', '\u00b5s'), ...channels.map((name) => unit(name, 'mV'))]],
            'units row': [['Time', ...channels], ['(ms)', ...channels.map(() => 'V')], []],
            settings: [['Model', 'A7'], ['Probe', ...channels.map(() => '1')], [], ['Time', ...channels]],
          };
          const [timeFactor, factor] =
            heading === 'units in names' ? [1e-6, 1e-3] : heading === 'units row' ? [1e-3, 1] : [1, 1];
          const texts = values.map((row, i) => [(start + i) * step, ...row].map(format));
          const body = texts.map((row) => row.map((cell) => cell.replace('.', decimal)));
          const text = [...headings[heading]!, ...body].map((row) => row.join(separator)).join(lineEnd);
          const { capture, findings } = readText(encoded(ended ? text + lineEnd : text, encoding), {}, sizes);
          expect(words(findings.filter(({ severity }) => severity === 'error'))).toBe('');
          // The cut of an unended line may leave out the last row where its last cell is shorter than all others.
          const traces = capture!.traces;
          expect(traces.length).toBe(channels.length);
          traces.forEach((trace, channel) => {
            const expected = texts.map((row) => Math.fround(Number(row[channel + 1]) * factor! + 0));
            const kept = ended ? expected : expected.slice(0, trace.values.length);
            expect(trace.values.length).toBeGreaterThanOrEqual(texts.length - (ended ? 0 : 1));
            expect([...trace.values]).toEqual([...Float32Array.from(kept)]);
            instants(trace).forEach((instant, i) => {
              const stated = Number(texts[i]![0]) * timeFactor!;
              expect(Math.abs(instant - stated)).toBeLessThanOrEqual(0.011 * step * timeFactor! + 1e-12);
            });
          });
        },
      ),
      { numRuns: 400 },
    );
  });
});

describe('instants', () => {
  const table = (stamps: readonly (number | string)[]) =>
    `t (s),v (V)\n${stamps.map((stamp, i) => `${stamp},${i}.5\n`).join('')}`;

  it('are a start and a step where they are evenly spaced, though rounded to few digits', () => {
    const stamps = Array.from({ length: 50 }, (_, i) => (0.3 * i).toFixed(1));
    const rounded = Array.from({ length: 50 }, (_, i) => ((i * 10) / 3).toFixed(1));
    for (const [list, step] of [
      [stamps, 0.3],
      [rounded, 10 / 3],
    ] as const) {
      const { timebase } = readText(table(list)).capture!.traces[0]!;
      expect(timebase).toEqual({ start: 0, step: expect.closeTo(step, 2) });
    }
  });

  it('are stamps where a sample is missing or the spacing changes', () => {
    for (const stamps of [
      [0, 1, 3, 4, 5],
      [0, 1, 2.2, 3, 4],
      [0, 1, 10, 100, 1000],
    ]) {
      expect(readText(table(stamps)).capture!.traces[0]!.timebase).toEqual({
        stamps: Float64Array.from(stamps),
      });
    }
  });

  it('that fall are put into rising order, their values with them', () => {
    const { capture, findings } = readText(table([4, 3, 2, 1]));
    expect(capture!.traces[0]).toMatchObject({ timebase: { start: 1, step: 1 } });
    expect([...capture!.traces[0]!.values]).toEqual([3.5, 2.5, 1.5, 0.5]);
    expect(words(findings)).toContain('the times fall: the samples were put into rising order');
  });

  it('that are repeated are dropped, and counted', () => {
    const { capture, findings } = readText(table([1, 2, 2, 2, 3, 4]));
    expect([...capture!.traces[0]!.values]).toEqual([0.5, 1.5, 4.5, 5.5]);
    expect(words(findings)).toContain('row 4: 2 rows with the time of the row before dropped');
  });

  it('that turn back are refused with the line', () => {
    expect(refusal(table([1, 2, 3, 2.5]))).toBe(
      'capture.csv row 5 column t: the time goes back from 3 s to 2.5 s; it must rise, or fall, throughout',
    );
  });

  it('that are missing beside a value are refused with the line', () => {
    expect(refusal(table([1, 2, '', 4, 5, 6]))).toContain('row 4 column t: the row has values and no time');
  });

  it('of numbered samples follow the numbers, left-out ones too', () => {
    const { capture } = readText('X,CH1,Start,Increment\nSequence,Volt,1,0.5\n0,1\n1,2\n2,3\n3,4\n');
    expect(instants(capture!.traces[0]!)).toEqual([1, 1.5, 2, 2.5]);
    const text = 'X,CH1,Start,Increment\nSequence,Volt,1,0.5\n0,1\n1,2\n2,3\n3,4\n';
    const { understanding } = readText(text);
    const reader = textReader(understanding!, 'capture.csv');
    const gap = inPieces(reader, encoder.encode(text.replace('2,3\n', '')), [9]);
    expect(instants(gap.capture!.traces[0]!)).toEqual([1, 1.5, 2.5]);
  });
});

describe('cells without a number', () => {
  it('are gaps where they are blank or say so, and counted apart where they are out of range', () => {
    const cells = [
      '1',
      '\u221e',
      '\u2212\u221e',
      'OVER',
      '-inf',
      'OL',
      '',
      'NaN',
      '---',
      '9.9E37',
      '-9.9E+37',
      '9.91E37',
      '2',
    ];
    const { capture, findings } = readText(
      `t (s),v (V)\n${cells.map((cell, i) => `${i},${cell}\n`).join('')}`,
    );
    const { values } = capture!.traces[0]!;
    expect([...values]).toEqual(cells.map((cell) => (cell === '1' ? 1 : cell === '2' ? 2 : Number.NaN)));
    expect(words(findings)).toBe(
      'warning: capture.csv column v: 11 samples without a value (4 over the range, 3 under it)',
    );
  });

  it('may stand in quotation marks, as numbers may', () => {
    const { capture } = readText('"t (s)","v (V)"\n"0","1.5"\n"1",""\n"2","-2.5e-1"\n');
    expect([...capture!.traces[0]!.values]).toEqual([1.5, Number.NaN, -0.25]);
  });

  it('blank lines and lines of separators are no rows', () => {
    const { capture } = readText('t (s),v (V)\n0,1\n\n1,2\n , \n2,3\n,,,\n\n');
    expect([...capture!.traces[0]!.values]).toEqual([1, 2, 3]);
  });

  it('a shorter channel ends in gaps', () => {
    const { capture } = readText('t (s),a (V),b (V)\n0,1,5\n1,2,6\n2,3,\n3,4,\n');
    expect([...capture!.traces[1]!.values]).toEqual([5, 6, Number.NaN, Number.NaN]);
  });
});

describe('what a person corrects', () => {
  it('probe, factor and offset make the value', () => {
    const text = 't (s),v (V)\n0,1\n1,2\n';
    const { columns } = readText(text).understanding!;
    const corrected = columns.map((column) =>
      column.role === 'channel' ? { ...column, factor: 1e-3, probe: 10, offset: -6, name: 'Q3.c' } : column,
    );
    const { name, values } = readText(text, { columns: corrected }).capture!.traces[0]!;
    expect(name).toBe('Q3.c');
    expect([...values]).toEqual([Math.fround(-5.99), Math.fround(-5.98)]);
  });

  it('an understanding that cannot be read by is a fault of the caller', () => {
    const { understanding } = textUnderstanding(encoder.encode('1.5\n2.5\n3.5\n'), 'capture.csv');
    expect(() => textReader(understanding!, 'capture.csv')).toThrow('the sample interval is missing');
  });
});

describe('a file that is cut', () => {
  const heading = 't (s),v (V)\n';

  it.each([
    ['within a row', '0.5,1.25\n1.0,2.50\n1.5,3.75\n2.'],
    ['behind a separator', '0.5,1.25\n1.0,2.50\n1.5,3.75\n2.0,'.replace('2.0,', '2.0')],
    ['within an exponent', '0.5,1.2e+01\n1.0,2.5e+01\n1.5,3.7e+01\n2.0,4.9e+0'],
    ['before an exponent', '0.5,1.2e+01\n1.0,2.5e+01\n1.5,3.7e+01\n2.0,4.9'],
    ['within the decimals of numbers that have as many', '0.5,1.25\n1.0,2.50\n1.5,3.75\n2.0,4.9'],
    ['behind a sign', '0.5,1.25\n1.0,2.50\n1.5,3.75\n2.0,-'],
  ])('%s loses its last row, and says so', (_, text) => {
    const { capture, findings } = readText(heading + text);
    expect(capture!.traces[0]!.values).toHaveLength(3);
    expect(words(findings)).toContain('row 5: the file ends in the middle of this line: it was left out');
  });

  it.each(['0.5,1.25\n1.0,2.50\n1.5,3.75', '0.5,1.2\n1.0,2\n1.5,3', '0.5,1.2,\n1.0,2,\n1.5,,'])(
    'a last row that only lacks its line end is whole',
    (text) => {
      const { capture, findings } = readText(heading + text);
      expect(capture!.traces[0]!.values).toHaveLength(3);
      expect(words(findings)).not.toContain('middle');
    },
  );

  it('fewer samples than the heading counts are reported', () => {
    expect(report(`Record Length,50\nt (s),v (V)\n${rows(10)}`)).toContain(
      'the heading counts 50 samples; 10 were read',
    );
  });
});

describe('rubbish is refused with its line, and nothing is half-read', () => {
  it.each([
    [
      'a word',
      'rubbish',
      'row 2001 column v: "rubbish" is no number; a number with a decimal point belongs here',
    ],
    ['another decimal sign', '0.002;1,5', 'row 2001 column t: "0.002;1" is no number'],
    ['a second decimal point', '0.002,1.5.2', 'row 2001 column v: "1.5.2" is no number'],
    ['a unit behind the number', '0.002,1.5 V', 'row 2001 column v: "1.5 V" is no number'],
    ['a row too short', '0.002', 'row 2001: 1 cell where 2 belong'],
    ['a row too long', '0.002,1,2', 'row 2001: "2" in cell 3; the table has 2 columns'],
    ['an open quotation mark', '0.002,"1', 'row 2001: a quotation mark is opened and not closed on its line'],
    ['a NUL byte', '0.002,1\u0000', 'row 2001: a NUL byte at byte'],
  ])('%s', (_, line, expected) => {
    const broken = line === 'rubbish' ? `0.002,${line}` : line;
    const text = `t (s),v (V)\n${rows(1999)}${broken}\n${rows(50, (i) => `${3 + i},1`)}`;
    expect(refusal(text)).toContain(`capture.csv ${expected}`);
  });

  it('also when it comes after the part that is looked at first, and no further piece is looked at', () => {
    const good = encoder.encode(`t (s),v (V)\n${rows(20_000)}`);
    const { understanding } = textUnderstanding(good, 'capture.csv');
    const reader = textReader(understanding!, 'capture.csv');
    expect(reader.push(good)).toBe(true);
    expect(reader.rows).toBe(20_000);
    expect(reader.push(encoder.encode('1,PK\n2,3\n'))).toBe(false);
    expect(reader.push(encoder.encode('3,4\n'))).toBe(false);
    const { capture, findings } = reader.end();
    expect(capture).toBeUndefined();
    expect(words(findings)).toContain('row 20002 column v: "PK" is no number');
  });

  it('a cell too many is one in a short file and at the end of a long one, too', () => {
    expect(refusal('t (s),v (V)\n0,1\n1,2\n2,3,note\n3,4\n4,5\n')).toContain('row 4: "note" in cell 3');
    expect(refusal(`t (s),v (V)\n${rows(100)}1,2,3,4,5,6\n`)).toContain('row 102: "3" in cell 3');
  });

  it('a line without an end is given up, not collected', () => {
    const { understanding } = textUnderstanding(encoder.encode(`t (s),v (V)\n${rows(50)}`), 'capture.csv');
    const reader = textReader(understanding!, 'capture.csv');
    const piece = new Uint8Array(1 << 20).fill(49);
    let pieces = 0;
    while (reader.push(piece) && pieces < 100) pieces++;
    expect(pieces).toBe(0);
    expect(words(reader.end().findings)).toContain('row 1: the line is longer than 64 kB');
  });

  it('more than ten million samples are too many', () => {
    const piece = encoder.encode('1\n'.repeat(1_000_000));
    const { understanding } = textUnderstanding(encoder.encode('2.5\n3.5\n'), 'capture.csv');
    const reader = textReader({ ...understanding!, interval: 1e-6 }, 'capture.csv');
    for (let i = 0; i < 10; i++) expect(reader.push(piece)).toBe(true);
    expect(reader.push(piece)).toBe(false);
    expect(words(reader.end().findings)).toContain('row 10000001: more than 10,000,000 samples');
  });

  it('a heading of another file is no sample', () => {
    expect(refusal(`t (s),v (V)\n${rows(20)}t (s),v (V)\n${rows(20)}`)).toContain('row 22 column t');
  });
});
