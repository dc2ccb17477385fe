import { describe, expect, it } from 'vitest';
import { readText } from '../test-reading.ts';
import { asRemembered, understandingFaults } from './correction.ts';
import { firstRows, HEAD_BYTES, type TextUnderstanding, textUnderstanding } from './understanding.ts';

const encoder = new TextEncoder();

function understood(text: string): TextUnderstanding {
  const { understanding, findings } = textUnderstanding(encoder.encode(text), 'capture.csv');
  expect(findings).toEqual([]);
  return understanding!;
}

/** Columns as `role name unit*factor`. */
function columns({ columns }: TextUnderstanding): string[] {
  return columns.map(({ role, name, unit, factor }) => `${role} ${name} ${unit}*${factor}`);
}

/** Ten rows by a function of their number. */
function rows(row: (i: number) => string, count = 10): string {
  return Array.from({ length: count }, (_, i) => `${row(i)}\n`).join('');
}

const volts = (i: number) => (-6 + i / 8).toFixed(3);
const time = (i: number) => (i * 2e-6 - 4e-6).toExponential(4);

describe('what a table is understood to be', () => {
  it.each([
    ['no heading', rows((i) => `${time(i)},${volts(i)}`), ['time  s*1', 'channel  *1'], 0],
    [
      'names and a row of units',
      `Time,CH1,CH2\n(ms),(V),(mV)\n\n${rows((i) => `${i * 2},${volts(i)},${i * 12}`)}`,
      ['time Time s*0.001', 'channel CH1 V*1', 'channel CH2 V*0.001'],
      3,
    ],
    [
      'units in the names, the letter mu in either form',
      `Time [\u00b5s]\tBase Q3 [mV]\tEmitter Q3 (V)\n${rows((i) => `${i}\t${i * 7}\t${volts(i)}`)}`,
      ['time Time s*0.000001', 'channel Base Q3 V*0.001', 'channel Emitter Q3 V*1'],
      1,
    ],
    [
      'units in full words and capitals',
      `TIME,A,B,C\nMICROSECONDS,Volt,MILLIVOLTS,Ampere\n${rows((i) => `${i * 5},${volts(i)},${i},0.${i}`)}`,
      ['time TIME s*0.000001', 'channel A V*1', 'channel B V*0.001', 'channel C A*1'],
      2,
    ],
    [
      'headings in quotation marks, with separators and line ends in them',
      `"Time, of day (s)","Level, of ""A""\nupper (V)"\n${rows((i) => `${time(i)},${volts(i)}`)}`,
      ['time Time, of day s*1', 'channel Level, of "A"\nupper V*1'],
      2,
    ],
    [
      'a nameless first column of times',
      `,CH2,CH4\nSecond,Volt,Volt\n${rows((i) => `${time(i)},${volts(i)},${i}, `)}`,
      ['time  s*1', 'channel CH2 V*1', 'channel CH4 V*1'],
      2,
    ],
    [
      'names above a row that calls all channels alike',
      `"Points =",10,\n"Channel Data","CH 1","CH 2"\n"Scale =",0.1,2\n"Time (s)","Voltage (V)","Voltage (V)"\n${rows((i) => `${time(i)},${i},${volts(i)}`)}`,
      ['time Time s*1', 'channel CH 1 V*1', 'channel CH 2 V*1'],
      4,
    ],
    [
      'channels that are called by numbers',
      `x-axis,1,2\nsecond,Volt,Volt\n${rows((i) => `${time(i)},${volts(i)},${i}`)}`,
      ['time x-axis s*1', 'channel 1 V*1', 'channel 2 V*1'],
      2,
    ],
    [
      'samples counted before their times',
      `;Sample rate,500000\nSample,Time(S),CH1(V)\n${rows((i) => `${i},${time(i)},${volts(i)}`)}`,
      ['skip Sample *1', 'time Time s*1', 'channel CH1 V*1'],
      2,
    ],
    [
      'columns parted by blanks',
      `time   ch1    ch2\n${rows((i) => `  ${time(i)}   ${volts(i)}  ${i}.5  `)}`,
      ['time time s*1', 'channel ch1 *1', 'channel ch2 *1'],
      1,
    ],
  ])('%s', (_, text, expected, headerLines) => {
    const understanding = understood(text);
    expect(columns(understanding)).toEqual(expected);
    expect(understanding.headerLines).toBe(headerLines);
  });

  it('decimal commas are found, with semicolons, tabs, blanks and quotation marks about the cells', () => {
    const comma = (i: number) => (i / 16).toFixed(4).replace('.', ',');
    for (const [text, separator] of [
      [rows((i) => `${comma(i)};${comma(-i)}`), ';'],
      [rows((i) => `${comma(i)}\t${comma(-i)}`), '\t'],
      [rows((i) => `${comma(i)} ${comma(-i)}`), ' '],
      [rows((i) => `"${comma(i)}","${comma(-i)}"`), ','],
    ] as const) {
      const { understanding, capture } = readText(text);
      expect(understanding!.decimal).toBe(',');
      expect(understanding!.separator).toBe(separator);
      expect(capture!.traces[0]!.values[9]).toBeCloseTo(-0.5625, 6);
    }
  });

  it('a column of values with decimal commas is not taken for two columns', () => {
    const understanding = understood(rows((i) => `-0,${String(i * 7).padStart(3, '0')}`));
    expect(columns(understanding)).toEqual(['channel  *1']);
    expect(understanding.decimal).toBe(',');
    expect(understood(rows((i) => `${(i * 3) % 7},${10 + i}`)).doubts.join()).toContain('decimal comma?');
  });

  const listed = [
    'Memory Length,10,',
    'Source,CH2,',
    'Probe,1.0X,',
    'Vertical Units,V,',
    'Horizontal Units,S,',
    'Sampling Period,4.00000e-06,',
    'Time, ,',
    'Waveform Data,',
    '',
  ].join('\n');

  it('settings above samples with and without their times, the channel named among them', () => {
    const plain = understood(listed + rows((i) => `${volts(i)},`));
    expect(columns(plain)).toEqual(['channel CH2 V*1']);
    expect(plain).toMatchObject({ interval: 4e-6, samples: 10, doubts: [] });
    const timed = understood(listed + rows((i) => `${(i * 4e-6).toExponential(4)},${volts(i)},`));
    expect(columns(timed).map((column) => column.replace(/ .* /, ' '))).toEqual(['time s*1', 'channel V*1']);
    expect(timed.columns[1]!.name).toBe('CH2');
    expect(timed.doubts).toEqual([]);
  });

  it('line ends the wrong way round, and a heading of remarks', () => {
    const text = `#Label,OE,LAT\n\r#\n\r#Vertical Units,V,A\n\r#TIME,D1,D0\n\r${rows((i) => `${time(i)},${i % 2},1\n`)}`;
    const { understanding, capture } = readText(text.replaceAll('\n\n', '\n\r'));
    expect(columns(understanding!)).toEqual(['time TIME s*1', 'channel D1 V*1', 'channel D0 A*1']);
    expect(capture!.traces[0]!.values).toHaveLength(10);
  });

  it('takes a separator or decimal sign that a person gives', () => {
    const bytes = encoder.encode(rows((i) => `${(i * 3) % 7},${10 + i}`));
    const { understanding } = textUnderstanding(bytes, 'capture.csv', { decimal: ',' });
    expect(columns(understanding!)).toEqual(['channel  *1']);
    expect(understanding!.doubts.join()).not.toContain('decimal comma?');
    expect(textUnderstanding(bytes, 'capture.csv', { separator: ';', decimal: '.' }).findings).toHaveLength(
      1,
    );
  });

  it('shows its first rows as they are parted', () => {
    const bytes = encoder.encode('Time;CH1\r\n(s);(V)\r\n0,1;"2,5"\r\n0,2;3,5\r\n');
    const { understanding } = textUnderstanding(bytes, 'capture.csv');
    expect(firstRows(bytes, understanding!, 3)).toEqual([
      { line: 1, cells: ['Time', 'CH1'] },
      { line: 2, cells: ['(s)', '(V)'] },
      { line: 3, cells: ['0,1', '2,5'] },
    ]);
  });

  it('a second column of times is not a channel', () => {
    const same = understood(
      `t1 (s),a (V),t2 (s),b (V)\n${rows((i) => `${time(i)},${i},${time(i)},${volts(i)}`)}`,
    );
    expect(same.columns.map(({ role }) => role)).toEqual(['time', 'channel', 'skip', 'channel']);
    expect(same.doubts).toEqual([]);
    const other = understood(`t1 (s),a (V),t2 (s),b (V)\n${rows((i) => `${time(i)},${i},${i},${volts(i)}`)}`);
    expect(other.doubts).toEqual(['t2: other times than those of t1; only the latter are taken']);
  });

  it('settings beside the samples', () => {
    const keys = [
      'Record Length,10',
      'Sample Interval,2e-06',
      'Source,CH2',
      'Vertical Units,mV',
      'Probe Atten,10',
    ];
    const understanding = understood(rows((i) => `${keys[i] ?? ','},,${time(i)},${volts(i)},`));
    expect(columns(understanding).slice(3)).toEqual(['time  s*1', 'channel CH2 V*0.001']);
    expect(understanding).toMatchObject({ headerLines: 0, interval: 2e-6, samples: 10 });
    expect(understanding.doubts.join()).toContain('a probe of 10');
  });

  it.each([
    ['Sample Interval,2e-07', 2e-7],
    ['Sampling Period (us),0.2', 2e-7],
    ['Sample rate,5e6', 2e-7],
    ['"Sampling Frequency (Hz)=",5000000,', 2e-7],
    ['# sample rate: 5 MS/s', 2e-7],
    ['Sampling Rate = 5MSa/s', 2e-7],
    ['Time increment : 200 ns', 2e-7],
    ['Delta T;200ns', undefined],
  ])('%s states the interval of values without times', (heading, interval) => {
    const { interval: found } = understood(`${heading}\n${rows(volts)}`);
    if (interval === undefined) expect(found).toBeUndefined();
    else expect(found).toBeCloseTo(interval, 15);
  });

  it('a unit that the heading states for the channels is not that of the sample numbers', () => {
    const text = `Vertical Units,V\nSample Interval,1e-6\nSample,CH1,CH2\n${rows((i) => `${i},${volts(i)},5`)}`;
    expect(columns(understood(text))).toEqual(['sequence Sample *1', 'channel CH1 V*1', 'channel CH2 V*1']);
  });

  it('numbers in a heading are no samples', () => {
    const understanding = understood(`40,2\nTime,CH1\n${rows((i) => `${time(i)},${volts(i)}`)}`);
    expect(understanding.headerLines).toBe(2);
  });

  it('numbered samples take start and increment from the heading', () => {
    const { understanding, capture } = readText(
      `X,CH1,Start,Increment,\nSequence,Volt,-2.5e-06,1e-08\n${rows((i) => `${i},${volts(i)},`)}`,
    );
    expect(columns(understanding!)).toEqual(['sequence X *1', 'channel CH1 V*1']);
    expect(capture!.traces[0]!.timebase).toMatchObject({ start: -2.5e-6, step: expect.closeTo(1e-8, 15) });
  });

  it('an interval that nothing states is asked for, and the file is read once it is given', () => {
    const understanding = understood(rows(volts));
    expect(understanding.doubts.join()).toContain('how long is a sample?');
    expect(understandingFaults(understanding).join()).toContain('the sample interval is missing');
    expect(understandingFaults({ ...understanding, interval: 1e-6 })).toEqual([]);
    const { capture } = readText(rows(volts), { interval: 1e-6, start: -3e-6 });
    expect(capture!.traces[0]!.timebase).toEqual({ start: -3e-6, step: 1e-6 });
  });

  it('is doubted where the step of the times is not the interval in the heading', () => {
    const heading = (interval: string) => `Sample Interval,${interval}\nTIME,CH1\n`;
    const data = rows((i) => `${time(i)},${volts(i)}`);
    expect(understood(heading('1e-06') + data).doubts.join()).toContain('does not agree with the interval');
    expect(understood(heading('2e-06') + data).doubts.join()).not.toContain('does not agree');
    const rounded = rows((i) => `${(i / 3).toFixed(1)},${volts(i)}`, 11);
    expect(understood(heading('0.33333333') + rounded).doubts.join()).not.toContain('does not agree');
  });

  it('times too coarse to part the samples give way to the interval in the heading', () => {
    const coarse = rows((i) => `${(1.5 + i * 1e-7).toFixed(6)},${volts(i)}`, 40);
    const understanding = understood(`Sample Interval,1e-07\nTIME (s),CH1 (V)\n${coarse}`);
    expect(columns(understanding)[0]).toMatch(/^skip/);
    expect(understanding).toMatchObject({ start: 1.5, interval: 1e-7 });
    expect(understanding.doubts.join()).toContain('too few digits');
  });

  it('is doubted where no unit is stated, and where volts are implausibly many', () => {
    const data = rows((i) => `${time(i)},${i * 400}`);
    expect(understood(`t,level\n${data}`).doubts).toEqual([
      't: no unit is stated, taken to be seconds',
      'level: no unit is stated',
      'level: the values reach 3600: millivolts?',
    ]);
    expect(understood(`t (s),level (V)\n${data}`).doubts.join()).toBe(
      'level: the values reach 3600 V: millivolts?',
    );
    expect(understood(`t (s),level (mV)\n${data}`).doubts).toEqual([]);
  });

  it('is plain data that JSON keeps', () => {
    const understanding = understood(`Time,CH1\ns,V\n${rows((i) => `${time(i)},${volts(i)}`)}`);
    expect(JSON.parse(JSON.stringify(understanding))).toEqual(understanding);
  });

  it('has the same signature for another file of the same instrument, and another for other columns', () => {
    const file = (interval: string, names: string, shift: number) =>
      `Taken 20${shift + 10} by hand\nSaved 20${shift + 10}-05-01,yes\nModel,A7\nSample Interval,${interval}\nTIME,${names}\n${rows((i) => `${time(i + shift)},${volts(i)}`)}`;
    const { signature } = understood(file('2e-06', 'CH1', 0));
    expect(understood(file('1e-03', 'CH1', 700)).signature).toBe(signature);
    expect(understood(file('2e-06', 'CH2', 0)).signature).not.toBe(signature);
  });

  it('is corrected as it was for an earlier file, but for what the new file states itself', () => {
    const file = (start: string) =>
      `X,CH1,Start,Increment\nSequence,Volt,${start},1e-08\n${rows((i) => `${i},${i}`)}`;
    const first = understood(file('-1e-06'));
    const kept = {
      ...first,
      columns: first.columns.map((column) => (column.role === 'channel' ? { ...column, probe: 10 } : column)),
    };
    const next = asRemembered(understood(file('-7e-06')), kept);
    expect(next.columns[1]!.probe).toBe(10);
    expect(next.start).toBe(-7e-6);
    const halves = rows((i) => `${(i * 3) % 7},${10 + i}`);
    const asCommas = textUnderstanding(encoder.encode(halves), 'capture.csv', { decimal: ',' })
      .understanding!;
    const again = asRemembered(understood(`A heading\n${halves}`), {
      ...asCommas,
      headerLines: 3,
      interval: 1,
    });
    expect(columns(again)).toEqual(['channel  *1']);
    expect(again).toMatchObject({ decimal: ',', headerLines: 3, interval: 1 });
    const wider = understood(rows((i) => `${time(i)},${i},${i}`));
    expect(asRemembered(wider, understood(rows((i) => `${time(i)},${i}`)))).toEqual(wider);
    const values = understood(rows(volts));
    expect(asRemembered(values, { ...values, interval: 4e-9 }).interval).toBe(4e-9);
  });

  it('faults of a correction are named', () => {
    const good = understood(`Time,CH1\ns,V\n${rows((i) => `${time(i)},${volts(i)}`)}`);
    const [clock, channel] = good.columns;
    const faults = (columns: TextUnderstanding['columns']) =>
      understandingFaults({ ...good, columns }).join();
    expect(faults([clock!])).toContain('no column is a channel');
    expect(faults([clock!, clock!, channel!])).toContain('more than one column');
    expect(faults([clock!, { ...channel!, probe: 0 }])).toContain('probe 0');
    expect(faults([clock!, { ...channel!, offset: Number.NaN }])).toContain('offset NaN');
  });
});

describe('what is no table is refused', () => {
  const refusal = (bytes: Uint8Array | string) => {
    const content = typeof bytes === 'string' ? encoder.encode(bytes) : bytes;
    const { understanding, findings } = textUnderstanding(content, 'capture.csv');
    expect(understanding).toBeUndefined();
    return findings.map(({ code, row, message }) => `${code} ${row} ${message}`).join();
  };

  it.each([
    ['nothing', '', 'not-a-table 1 the file holds nothing'],
    ['a letter to a friend', 'Dear Ann,\nthe counter counts again.\n', 'no column of numbers'],
    ['a single row', 'Time,CH1\n0.5,1.25\n', 'a single row of numbers'],
    ['times alone', 'Time (s)\n0.5\n0.7\n0.9\n', 'not-a-table 2 no column of values, only one of times'],
    ['a NUL byte', '0.1,2\n0.2,3\n\u00000.3,4\n', 'binary 3 a NUL byte at byte 12'],
    ['an archive', 'PK\u0003\u0004\u0014\u0000', 'control byte 0x03'],
    ['one line without an end', '1,2,3,'.repeat(20_000), 'no line ends within the first 64 kB'],
    ['a thousand columns', `${'1.5,'.repeat(1000)}\n`.repeat(3), 'row-length 1 1000 columns'],
  ])('%s', (_, text, expected) => {
    expect(refusal(text)).toContain(expected);
  });

  it('random bytes', () => {
    let state = 7;
    const noise = Uint8Array.from({ length: HEAD_BYTES }, () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state >>> 24;
    });
    expect(refusal(noise)).toMatch(/^binary 1 /);
  });
});
