/** The commands about captures, called as a person calls them. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openRecord } from '../records/index.ts';
import type { Trace } from '../waveform/index.ts';
import { run } from './run.ts';
import { TALLY, writeTally } from './tally-folder.ts';

let place: string;
beforeEach(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterEach(() => rmSync(place, { recursive: true }));

async function ask(args: readonly string[], columns = 100, unicode = true) {
  let [out, err] = ['', ''];
  const terminal = {
    ...{ columns, unicode, colours: false, progress: undefined },
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      err += text;
    },
  };
  const code = await run(args, terminal, new AbortController().signal);
  return { code, out, err };
}

function put(name: string, content: string | Uint8Array): string {
  const path = join(place, name);
  writeFileSync(path, content);
  return path;
}

/** Pulses of 300 µs each millisecond from 0 to -6 V for 8 ms, one sample a microsecond; one of them missing, all of them late. */
function pulses({ missing = -1, late = 0 } = {}): string {
  const rows = Array.from({ length: 8000 }, (_, i) => {
    const at = i - late;
    const within = ((at % 1000) + 1000) % 1000;
    const low = within >= 200 && within < 500 && Math.floor(at / 1000) !== missing;
    return `${i}e-6,${low ? -6 : 0},${i % 100 < 50 ? 0 : -6}\n`;
  });
  return `Time,CH1,CLOCK\ns,V,V\n${rows.join('')}`;
}

const DUMP = (third: string) =>
  `$timescale 1us $end $var wire 1 ! head $end $enddefinitions $end\n#0 0!\n#50 1!\n#${third} 0!\n#200\n`;

describe('capture', () => {
  it('says what was understood, and shows the first rows', async () => {
    const { code, out, err } = await ask(['capture', put('a.csv', pulses())]);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain('a.csv: a table of 2 channels, one every 1 µs, from 0 s to 7.999 ms.');
    expect(out).toMatch(
      /cells parted by comma, decimal point, 2 lines of heading, UTF-8, a column of times\./,
    );
    expect(out).toMatch(/channel +samples +least +greatest\n {2}CH1 +8,000 +−6 V +0 V/);
    expect(out).toMatch(/ 1 {2}Time │ CH1 │ CLOCK\n/);
    expect(out).toContain('--into FOLDER --unit ID');
  });

  it('says it in plain ASCII where no other signs can be shown', async () => {
    for (const command of ['capture', 'measure']) {
      const { out } = await ask([command, put('a.csv', pulses()), '--ascii']);
      expect(out).toMatch(/^[\n -~]*$/);
      expect(out).toContain('-6');
    }
  });

  it('gives it exactly as JSON', async () => {
    const { out } = await ask(['capture', put('a.csv', pulses()), '--json']);
    const answer = JSON.parse(out);
    expect(answer).toMatchObject({ file: 'a.csv', kind: 'text', findings: [] });
    expect(answer.channels[0]).toEqual({
      ...{ name: 'CH1', unit: 'V', kind: 'trace', width: 0, samples: 8000, start: 0, end: 7999e-6 },
      ...{ step: expect.closeTo(1e-6, 15), min: -6, max: 0 },
    });
    expect(answer.understanding.columns.map(({ role }: { role: string }) => role)).toEqual([
      ...['time', 'channel', 'channel'],
    ]);
  });

  it('takes corrections of separator, decimal sign, interval, probe, offset and units', async () => {
    const path = put('a.csv', 'A;B\n1,5;2\n3,5;4\n2,5;3\n');
    const form = ['--separator', ';', '--decimal', ','];
    const asked = await ask(['capture', path, ...form]);
    expect([asked.code, asked.err]).toEqual([2, expect.stringMatching(/interval is missing.*--interval 1u/)]);
    expect(asked.out).toContain('1,5 │ 2');
    const more = ['--interval', '2m', '--probe', 'A=10', '--offset', '2=0.5', '--units', 'B=mV'];
    const { code, out } = await ask(['capture', path, ...form, ...more, '--json']);
    expect(code).toBe(0);
    expect(JSON.parse(out).channels).toMatchObject([
      { name: 'A', step: 2e-3, min: 15, max: 35 },
      { name: 'B', unit: 'V', min: Math.fround(0.502), max: Math.fround(0.504) },
    ]);
  });

  it.each([
    [['--probe', 'CH9=10'], /no channel "CH9"; channels: "CH1", "CLOCK"; did you mean CH1/],
    [['--probe', 'CH1'], /--probe "CH1": here belongs CHANNEL=/],
    [['--probe', 'CH1=0'], /other than 0/],
    [['--probe', 'CH1=ten'], /--probe: /],
    [['--units', 'CH1=furlongs'], /a unit such as V/],
    [['--separator', '!'], /--separator "!": here belongs one of , ;/],
    [['--interval', '-1'], /seconds above 0/],
    [['--full-scale', '2'], /a\.csv is a table: a full scale is said of sound files only/],
    [['--point', 'CH1=OUT'], /--point goes with --into or --record/],
  ])('refuses %j', async (options, words) => {
    const { code, out, err } = await ask(['capture', put('a.csv', pulses()), ...options]);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(words);
  });

  it.each([
    ['what is no capture', 'dear sir\nplease find enclosed\n', /a\.csv row 1: no column of numbers/],
    ['an empty file', '', /a\.csv row 1: the file holds nothing/],
    ['bytes', Uint8Array.of(0, 1, 2, 3), /a\.csv row 1: a NUL byte at byte 0/],
    ['a table that turns to rubbish', `${pulses()}8e-3,x,y\n8.001e-3,1,1\n`, /a\.csv row 8003 column CH1/],
  ])('refuses %s with the place named', async (_, content, words) => {
    const folder = writeTally(join(place, 'tally'));
    const path = put('a.csv', content);
    for (const options of [[], ['--json'], ['--into', folder]]) {
      const { code, out, err } = await ask(['capture', path, ...options]);
      expect([code, out]).toEqual([2, '']);
      expect(err).toMatch(words);
    }
    expect(readdirSync(folder).filter((name) => name.startsWith('capture'))).toEqual([]);
  });

  it('refuses a file that is not there, and a folder', async () => {
    expect((await ask(['capture', join(place, 'no.csv')])).err).toMatch(/cannot read .*no such file/);
    expect((await ask(['capture', place])).err).toMatch(/is not an ordinary file/);
  });
});

describe('capture --into', () => {
  const FACTS = [
    '--unit',
    'stern',
    '--condition',
    'held',
    '--taken-at',
    '2026-10-04',
    '--instrument',
    'scope',
  ];

  it('puts the file into a folder with its rows, below those that are there', async () => {
    const folder = writeTally(join(place, 'tally'), {
      'captures.csv': 'shelf,file,unit\nB 7,old.csv,stern\n',
    });
    const path = put('a.csv', pulses());
    const options = [...FACTS, '--point', 'CH1=OUT', '--probe', 'CH1=10', '--note', 'first, cold'];
    const { code, out, err } = await ask(['capture', path, '--into', folder, ...options]);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain(`a.csv is in ${folder}.\n2 channels: CH1 on OUT.`);
    expect(readFileSync(join(folder, 'captures', 'a.csv'), 'utf8')).toBe(pulses());
    expect(readFileSync(join(folder, 'captures.csv'), 'utf8')).toMatch(
      /^shelf,file,unit,condition,taken_at,instrument,note,understanding\nB 7,old\.csv,stern,,,,,\n,a\.csv,stern,held,2026-10-04,scope,"first, cold","\{""kind""/,
    );
    expect(readFileSync(join(folder, 'capture-channels.csv'), 'utf8')).toBe(
      'file,channel,point,factor,offset,note\na.csv,CH1,OUT,10,,\n',
    );
    expect((await ask(['check', folder])).out).toContain('Ferry tally: in order.');
    const again = await ask(['capture', path, '--into', folder, '--json']);
    expect(JSON.parse(again.out)).toMatchObject({ file: 'a-2.csv', machine: folder });
    for (const [name, text] of Object.entries(TALLY))
      expect(readFileSync(join(folder, name), 'utf8')).toBe(text);
  });

  it('puts it into a machine of a record, where it is remembered how it was read', async () => {
    const record = join(place, 'record.sisterboard');
    await ask(['import', writeTally(join(place, 'tally')), '--record', record]);
    const path = put('a.csv', pulses());
    const options = [...FACTS, '--point', 'CH1=OUT', '--probe', 'CH1=10'];
    const { code, out } = await ask(['capture', path, '--record', record, ...options]);
    expect([code, out]).toEqual([0, expect.stringContaining('a.csv is in Ferry tally, in the record')]);
    const named = ['--record', record, '--into', 'Ferry tally', '--json'];
    expect(JSON.parse((await ask(['capture', path, ...named])).out)).toMatchObject({ file: 'a-2.csv' });
    const opened = await openRecord(record, { clock: () => new Date(0) });
    const entries = await opened.captures(1);
    expect(entries.map(({ file, unit, channels }) => [file, unit, channels[0]!.point])).toEqual([
      ['a.csv', 'stern', 'OUT'],
      ['a-2.csv', '', ''],
    ]);
    const { values } = (await opened.captureTrace(1, entries[1]!.id, 0)) as Trace;
    expect(values[300]).toBe(-60);
    await opened.close();
  });

  it.each([
    [['--unit', 'storn'], /no unit "storn"; did you mean stern/],
    [['--condition', 'hold'], /no state "hold"/],
    [['--point', 'CH1=OUTT'], /no point "OUTT"/],
    [['--point', 'CH7=OUT'], /no channel "CH7"/],
    [['--taken-at', 'noon'], /no ISO 8601 date/],
  ])('refuses %j and keeps nothing', async (options, words) => {
    const folder = writeTally(join(place, 'tally'));
    const record = join(place, 'record.sisterboard');
    await ask(['import', folder, '--record', record]);
    for (const where of [
      ['--into', folder],
      ['--record', record],
    ]) {
      const { code, err } = await ask(['capture', put('a.csv', pulses()), ...where, ...options]);
      expect(code).toBe(2);
      expect(err).toMatch(words);
    }
    expect(readdirSync(folder)).not.toContain('captures');
    const opened = await openRecord(record, { clock: () => new Date(0) });
    expect(await opened.captures(1)).toEqual([]);
    await opened.close();
  });

  it('wants a folder that is there', async () => {
    const path = put('a.csv', pulses());
    const { code, err } = await ask(['capture', path, '--into', join(place, 'no')]);
    expect([code, err]).toEqual([2, expect.stringMatching(/cannot read the folder/)]);
  });
});

describe('measure', () => {
  it('gives each figure with its uncertainty, and draws the trace', async () => {
    const path = put('a.csv', pulses());
    const { code, out, err } = await ask(['measure', path, '--channel', 'CH1', '--polarity', 'negative']);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain('CH1: 8,000 samples, 0 s to 7.999 ms');
    expect(out).toMatch(/^ {2}low level +−6/m);
    expect(out).toMatch(/^ {2}pulse width +300\.\d+ µs ± \d/m);
    expect(out).toMatch(/^ {2}period +1\.0\d* ms ± /m);
    expect(out).toMatch(/^ {2}edges +8 rising, 8 falling; 8 pulses$/m);
    expect(out).not.toContain('CLOCK');
    // Eight pulses go down and come up again.
    const strip = out.split('\n').filter((line) => /[─│]/.test(line));
    expect(strip).toHaveLength(7);
    expect(strip.at(-1)!.match(/[─│]+/g)).toHaveLength(8);
  });

  it('gives them as JSON, with the reason where there is none', async () => {
    const { out } = await ask(['measure', put('a.csv', pulses()), '--json', '--polarity', 'negative']);
    const { channels } = JSON.parse(out);
    expect(channels).toHaveLength(2);
    const [{ levels, pulseDuration, period, edges, periodJitter }] = channels;
    expect(levels.low.value).toBeCloseTo(-6, 3);
    expect(pulseDuration).toMatchObject({ value: expect.closeTo(3e-4, 7), count: 8 });
    expect(period.value).toBeCloseTo(1e-3, 7);
    expect(period.uncertainty).toBeGreaterThan(0);
    expect([edges.count, edges.rising[0]]).toEqual([16, false]);
    expect(periodJitter).toHaveProperty('value');
    const flat = await ask(['measure', put('b.csv', 'Time,A\ns,V\n0,1\n1,1\n2,1\n3,1\n'), '--json']);
    expect(JSON.parse(flat.out).channels[0].period).toEqual({ reason: expect.any(String) });
  });

  it('says why where a figure cannot be had', async () => {
    const { out } = await ask(['measure', put('b.csv', 'Time,A\ns,V\n0,1\n1,1\n2,1\n3,1\n')]);
    expect(out).toMatch(/one level only: [\s\S]*period/);
  });

  it('says what of the file was dropped', async () => {
    const path = put('b.csv', 'Time,A\ns,V\n0,1\n1,1\n1,2\n2,1\n3,1\n');
    expect((await ask(['measure', path])).out).toMatch(/b\.csv row 5: 1 row [\s\S]*dropped/);
    expect(JSON.parse((await ask(['measure', path, '--json'])).out).findings).toHaveLength(1);
  });

  it('measures a stretch of time alone', async () => {
    const stretch = ['--channel', 'CH1', '--polarity', 'negative', '--window', '2m..4.9m'];
    const { out } = await ask(['measure', put('a.csv', pulses()), ...stretch]);
    expect(out).toContain('CH1: 2,901 samples, 2 ms to 4.9 ms');
    expect(out).toMatch(/edges +3 rising, 3 falling; 3 pulses/);
    const strip = out.split('\n').filter((line) => /[─│]/.test(line));
    expect(strip.at(-1)!.match(/[─│]+/g)).toHaveLength(3);
    const logic = await ask(['measure', put('a.vcd', DUMP('150')), '--window', '..100u'], 42);
    expect(logic.out).toContain(`  ${'▁'.repeat(20)}${'▔'.repeat(20)}\n`);
    expect(logic.out).toMatch(/edges {3}1 rising, 0 falling/);
  });

  it.each(['2m', '4m..2m', '1..2..3', 'a..b'])('refuses the stretch %s', async (window) => {
    const { code, err } = await ask(['measure', put('a.csv', pulses()), '--window', window]);
    expect([code, err]).toEqual([2, expect.stringMatching(/^--window/)]);
  });

  it('refuses a stretch in which there is nothing, and says what there is', async () => {
    const { code, err } = await ask(['measure', put('a.vcd', DUMP('150')), '--window', '1m..2m']);
    expect([code, err]).toEqual([2, expect.stringContaining('from 0 s to 200')]);
  });

  it('draws a logic channel as high and low', async () => {
    const path = put('a.vcd', DUMP('150'));
    const { out } = await ask(['measure', path], 42);
    expect(out).toContain('head: 3 states of 1 bit, 0 s to 200 µs');
    expect(out).toContain(`  ${'▁'.repeat(10)}${'▔'.repeat(20)}${'▁'.repeat(10)}\n`);
    expect(out).toMatch(/edges {3}1 rising, 1 falling/);
    expect((await ask(['measure', path], 42, false)).out).toContain(`${'_'.repeat(10)}${'^'.repeat(20)}`);
    const [channel] = JSON.parse((await ask(['measure', path, '--json'])).out).channels;
    expect(channel).toMatchObject({ kind: 'logic', rising: 1, falling: 1, period: null });
  });

  it('names the channels there are', async () => {
    const { code, err } = await ask(['measure', put('a.csv', pulses()), '--channel', 'CH2']);
    expect([code, err]).toEqual([2, expect.stringContaining('channels: "CH1", "CLOCK"')]);
  });
});

describe('match', () => {
  it('names where two units first differ, how, and by how much', async () => {
    const [north, south] = [put('north.csv', pulses()), put('south.csv', pulses({ missing: 4 }))];
    const { code, out, err } = await ask(['match', north, south]);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain('south.csv against north.csv, by the trigger that both count from.');
    expect(out).toMatch(/^CH1: first parts at 4\.\d+ ms, missing pulse, 6\.00 V; 1 difference beyond/m);
    expect(out).toMatch(/^CLOCK: no difference beyond/m);
    const answer = JSON.parse((await ask(['match', north, south, '--json'])).out);
    expect(answer).toMatchObject({ align: 'trigger', map: { offset: 0, rate: 1 }, alignment: null });
    expect(answer.channels[0]).toMatchObject({ name: 'CH1', unit: 'V', count: 1 });
    expect(answer.channels[0].differences[0]).toMatchObject({ kind: 'missing pulse', volts: 6 });
    expect(answer.channels[1].differences).toEqual([]);
  });

  it.each(['edges', 'likeness'])('brings them together by %s', async (align) => {
    const north = put('north.csv', pulses());
    const south = put('south.csv', pulses({ missing: 4, late: 130 }));
    const plain = await ask(['match', north, south, '--channel', 'CH1']);
    expect(plain.out).toMatch(/first parts at 199\.5 µs, timing, 130\.0 µs late/);
    expect(plain.out).toContain(`sisterboard match ${north} ${south} --align edges`);
    const { out } = await ask(['match', north, south, '--channel', 'CH1', '--align', align]);
    expect(out).toMatch(new RegExp(`aligned by ${align}: it begins later by (130|129\\.9\\d*) µs`));
    expect(out).toMatch(/first parts at 4\.\d+ ms, missing pulse/);
  });

  it('compares words bit by bit, read at the clock', async () => {
    const [north, south] = [put('north.csv', pulses()), put('south.csv', pulses({ missing: 4 }))];
    const words = ['--word', '10', '--clock', 'CLOCK'];
    const { out } = await ask(['match', north, south, ...words]);
    expect(out).toMatch(/^CH1: first parts in word 5, bit \d; 3 bits differ of \d words\.$/m);
    expect(out).not.toMatch(/^CLOCK:/m);
    const falling = [...words, '--edge', 'falling', '--order', 'most', '--json'];
    const [channel] = JSON.parse((await ask(['match', north, south, ...falling])).out).channels;
    expect(channel.differences[0]).toMatchObject({ word: 4, first: '0', second: '1' });
    expect(channel.differences[0].bit).toBeGreaterThan(4);
    expect((await ask(['match', north, north, ...words])).out).toMatch(/CH1: \d words, all alike\./);
  });

  it('looks at a stretch of time alone, and begins the first word in it', async () => {
    const [north, south] = [put('north.csv', pulses()), put('south.csv', pulses({ missing: 4 }))];
    const apart = await ask(['match', north, south, '--window', '5m..', '--channel', 'CH1']);
    expect(apart.out).toMatch(/^CH1: no difference beyond/m);
    const words = ['--word', '10', '--clock', 'CLOCK', '--window', '4.1m..6m'];
    const { out } = await ask(['match', north, south, ...words]);
    expect(out).toMatch(/^CH1: first parts in word 1, bit \d; 3 bits differ of 1 word\.$/m);
    const states = ['match', put('north.vcd', DUMP('150')), put('south.vcd', DUMP('160'))];
    expect((await ask([...states, '--window', '..100u'])).out).toContain('head: alike throughout.');
  });

  it('compares logic channels by their states', async () => {
    const [north, south] = [put('north.vcd', DUMP('150')), put('south.vcd', DUMP('160'))];
    const { out } = await ask(['match', north, south]);
    expect(out).toMatch(/head: first parts at 150 µs; 1 difference\./);
    const within = await ask(['match', north, south, '--tolerance', '20u']);
    expect(within.out).toContain('head: alike throughout.');
    const aligned = await ask(['match', north, south, '--align', 'edges', '--json']);
    expect(JSON.parse(aligned.out).channels[0].differences.length).toBeGreaterThan(0);
  });

  it.each([
    [['--rate', '1'], /--rate goes with --align/],
    [['--rate', '50', '--align', 'edges'], /percent, 0 to 20/],
    [['--word', '8'], /--word and --clock go together/],
    [['--word', '0', '--clock', 'CLOCK'], /a number of bits/],
    [['--word', '8', '--clock', 'CLK'], /no channel "CLK"; channels: "CH1", "CLOCK"/],
    [['--align', 'taste'], /Allowed choices are trigger, edges, likeness/],
    [['--tolerance', '0'], /seconds above 0/],
    [['--channel', 'CH5'], /no channel "CH5"/],
  ])('refuses %j', async (options, words) => {
    const path = put('a.csv', pulses());
    const { code, out, err } = await ask(['match', path, path, ...options]);
    expect([code, out]).toEqual([2, '']);
    expect(err).toMatch(words);
  });

  it('wants two files, and says when nothing is alike', async () => {
    const path = put('a.csv', pulses());
    expect((await ask(['match', path])).err).toMatch(/missing required argument/);
    const flat = put('flat.csv', 'Time,CH1\ns,V\n0,1\n1e-3,1\n2e-3,1\n3e-3,1\n');
    const { code, err } = await ask(['match', path, flat, '--align', 'edges']);
    expect([code, err]).toEqual([2, expect.stringMatching(/cannot be brought together by edges: one level/)]);
  });
});

describe('each of these commands', () => {
  it.each(['capture', 'measure', 'match'])('%s has an example in its help', async (command) => {
    const { code, out } = await ask([command, '--help']);
    expect([code, out]).toEqual([
      0,
      expect.stringMatching(new RegExp(`Example:\n {2}sisterboard ${command} `)),
    ]);
  });
});
