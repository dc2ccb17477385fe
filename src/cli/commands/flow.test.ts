import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { run } from '../run.ts';
import { TALLY, writeTally } from '../tally-folder.ts';

let place: string;
beforeAll(() => {
  place = mkdtempSync(join(tmpdir(), 'sisterboard-'));
});
afterAll(() => rmSync(place, { recursive: true }));

async function ask(files: Readonly<Record<string, string>>, ...options: string[]) {
  const folder = writeTally(mkdtempSync(join(place, 'tally-')), files);
  let [out, err] = ['', ''];
  const terminal = {
    columns: 100,
    unicode: true,
    colours: false,
    progress: undefined,
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      err += text;
    },
  };
  const code = await run(['flow', folder, ...options], terminal, new AbortController().signal);
  return { code, out, err };
}

/** The tally with its output led back to its input. */
const LOOP = {
  'parts.csv': `${TALLY['parts.csv']}TLY,R8,resistor,,15k,1=OUT 2=B1\nTLY,J1,connector,,,1=OUT 2=+90V\n`,
  'points.csv': 'point,minutes,note,caution\nIN,1,,\nOUT,1,,the tag beside it is at 90 V\nMID,1,,\n',
};

describe('sisterboard flow', () => {
  it('says for each point what drives it and from where', async () => {
    const { code, out } = await ask({});
    expect(code).toBe(0);
    expect(out).toMatch(/^ {2}MID {3,}inverter TLY\/Q1 {2,}B1$/m);
    expect(out).toMatch(/^ {2}B2 {3,}inverter TLY\/Q2 {2,}MID$/m);
    expect(out).toMatch(/^ {2}IN {3,}input from outside {2,}an unknown pin$/m);
  });

  it('follows a point back to the edge', async () => {
    const { out } = await ask({}, '--point', 'TLY/Q2.c');
    const rows = out
      .split('\n')
      .flatMap((line) => /^ {2}(\S+) +(\d) {2}/.exec(line)?.slice(1, 3).join(' ') ?? []);
    expect(rows).toEqual(['OUT 0', 'B2 1', 'MID 2', 'B1 3', 'IN 4']);
  });

  it('names the stage with good inputs and a bad output', async () => {
    const { out } = await ask({}, '--unit', 'stern');
    expect(out).toContain('inverter TLY/Q2: good at MID, bad at OUT, in held.');
    expect(out).toMatch(/^ {2}OUT {2,}bad in 1 of 2 {2,}inverter TLY\/Q2/m);
  });

  it('names a stage that nobody has traced by its waveforms alone', async () => {
    const readings = [
      ['bow', 'IN', 1],
      ['bow', 'OUT', 1],
      ['stern', 'IN', 1],
      ['stern', 'OUT', 0],
    ].map(([unit, point, moves]) => `${unit},counting,${point},moves,${moves},,2023-05-05`);
    const { code, out } = await ask(
      {
        'parts.csv': 'board,ref,kind,type,value,pins\nM,J1,connector,,,1=IN 2=OUT\n',
        'flow.csv': 'board,stage,inputs,outputs,breaks,note\nM,scale,IN,OUT,,\n',
        'points.csv': 'point,minutes,note\nIN,1,\nOUT,1,\n',
        'conditions.csv':
          'condition,net,role,volts,ohms,wave\ncounting,IN,drive,,,pulses low=-6 high=0 width=20u period=100u\n',
        'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at\n${readings.join('\n')}\n`,
      },
      '--unit',
      'stern',
    );
    expect(code).toBe(0);
    expect(out).toContain('stage M/scale, drawn by hand: good at IN, bad at OUT, in counting.');
  });

  it('names a loop with the places where it is held, each with its caution', async () => {
    const { out } = await ask(LOOP, '--board', 'TLY');
    expect(out).toContain('Loop of 4 nets: bistable TLY/Q1 TLY/Q2');
    expect(out).toMatch(/- clip B2 to 0V through [\d.]+ Ω: cuts TLY\/Q2 off; [\d.]+ [mµ]A at most/);
    expect(
      out.match(/- clip OUT to 0V.*\n(.*\n)*? {6}CAUTION {2}OUT: the tag beside it is at 90 V/),
    ).not.toBeNull();
    expect(out).toContain('never to mains or high voltage');
  });

  it('says where flow.csv and the wiring do not agree', async () => {
    const { out } = await ask({ 'flow.csv': 'board,stage,inputs,outputs,breaks,note\nTLY,in,OUT,MID,,\n' });
    expect(out).toContain('flow.csv has TLY/in take in OUT, but by the wiring OUT follows MID.');
  });

  it('gives the same to other programs as one object', async () => {
    const { code, out } = await ask(LOOP, '--json', '--unit', 'stern', '--point', 'OUT');
    const told = JSON.parse(out);
    expect(code).toBe(0);
    expect(Object.keys(told)).toEqual(['points', 'back', 'stages', 'loops', 'contradictions', 'unit']);
    expect(told.points[0]).toMatchObject({ point: 'OUT', stages: ['TLY/Q2'] });
    expect(told.loops[0].rings[0].places[0]).toHaveProperty('caution');
    expect(told.unit).toMatchObject({ id: 'stern' });
  });

  it.each([
    [['--point', 'OTU'], /no point "OTU".*OUT/],
    [['--board', 'TLX'], /no board "TLX"; boards: TLY/],
    [['--unit', 'nobody'], /no unit "nobody"/],
  ])('refuses %j with what there is', async (options, message) => {
    const { code, err, out } = await ask({}, ...options);
    expect(code).toBe(2);
    expect(out).toBe('');
    expect(err.replaceAll('\n', ' ')).toMatch(message);
  });
});
