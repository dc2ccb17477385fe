import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { BUILT_IN_TYPES } from './built-in-types.ts';
import { readMachine } from './document.ts';
import type { DeviceType, Machine, Part, PartKind, Pin } from './model.ts';
import { PART_KINDS } from './model.ts';
import { defaultPoints } from './nets.ts';
import { KIND_RULES } from './part-kinds.ts';
import { eachRow, rowText } from './table.ts';
import { encoded, folder, SOUND } from './test-folder.ts';
import { machineFiles, writeMachine } from './write.ts';

// Names with all that a table or a list in a cell could stumble over.
const net = fc.string({
  unit: fc.constantFrom('A', 'b', '7', '-', '+', '_', '.', '~', ',', ';', '"', '=', "'", 'µ', '/'),
  minLength: 1,
  maxLength: 5,
});
const text = fc.string({
  unit: fc.constantFrom('a', 'Ω', ' ', ',', ';', '"', '\n', '\r', '\t', '=', '4'),
  maxLength: 8,
});
const name = text.map((t) => t.trim()).filter((t) => t !== '');
const board = fc.constantFrom('ADD', 'CLK 2', 'read-amp', '7', 'µ');
const decimal = (min: number, max: number): fc.Arbitrary<number> =>
  fc.oneof(
    fc.double({ min, max, noNaN: true, noDefaultInfinity: true }).map((x) => x + 0),
    fc.integer({ min: Math.ceil(min), max: Math.min(Math.floor(max), 1e6) }),
  );
const maybe = <T>(value: fc.Arbitrary<T>): fc.Arbitrary<T | undefined> =>
  fc.option(value, { nil: undefined });

const partOf = (kind: PartKind): fc.Arbitrary<Omit<Part, 'ref' | 'name'>> => {
  const rule = KIND_RULES[kind];
  const names: fc.Arbitrary<readonly string[]> =
    rule.pins === 'windings'
      ? fc
          .integer({ min: 1, max: 3 })
          .map((n) => Array.from({ length: n }, (_, i) => [`${i + 1}a`, `${i + 1}b`]).flat())
      : rule.pins === undefined
        ? fc.uniqueArray(fc.constantFrom('1', '2', 'A.7', 'grid', 'p:3'), { minLength: 1 })
        : fc.shuffledSubarray([...rule.pins], { minLength: rule.pins.length });
  const [least, most] = rule.value?.possible ?? [0, 1];
  const value = decimal(least, Math.min(most, 1e6));
  const stated = (count: number): fc.Arbitrary<Pick<Part, 'value' | 'windings' | 'closed' | 'setting'>> => {
    if (kind === 'switch') return fc.record({ closed: fc.boolean() });
    if (kind === 'trimmer') return fc.record({ value, setting: maybe(decimal(0, 1)) });
    if (kind === 'transformer') {
      return fc.record({ windings: fc.array(value, { minLength: count / 2, maxLength: count / 2 }) });
    }
    return rule.value === undefined ? fc.constant({}) : fc.record({ value });
  };
  const types = [...BUILT_IN_TYPES.values()].filter((type) => type.kind === kind).map(({ type }) => type);
  return names.chain((pinNames) => {
    const pins = fc
      .array(net, { minLength: pinNames.length, maxLength: pinNames.length })
      .map((nets): Pin[] => pinNames.map((pin, i) => ({ pin, net: nets[i]! })));
    const rest = fc.record({
      board,
      kind: fc.constant(kind),
      type: rule.typed ? fc.constantFrom(...types) : fc.constant(''),
      tolerance: fc.oneof(fc.constant(rule.tolerance), decimal(0, 100)),
      pins,
      note: text,
    });
    return fc.tuple(rest, stated(pinNames.length)).map(([a, b]) => ({ ...a, ...b }));
  });
};
const parts: fc.Arbitrary<Part[]> = fc
  .array(fc.constantFrom(...PART_KINDS).chain(partOf), { maxLength: 8 })
  .map((list) => list.map((part, i) => ({ ...part, ref: `X${i}`, name: `${part.board}/X${i}` })));

const deviceType: fc.Arbitrary<DeviceType> = fc.record({
  type: fc.constantFrom('ZQ1', 'ZD2', '2N404', 'Z,"3'),
  kind: fc.constantFrom('transistor', 'diode', 'zener'),
  material: fc.constantFrom('ge', 'si'),
  vj: decimal(0.02, 5),
  ij: decimal(1e-9, 10),
  hfeMin: maybe(decimal(1, 50)),
  hfeTyp: maybe(decimal(50, 100)),
  hfeMax: maybe(decimal(100, 1000)),
  icbo: decimal(0, 0.01),
  rs: decimal(0, 100),
  n: decimal(0.5, 3),
  vceo: maybe(decimal(1, 100)),
  vcbo: maybe(decimal(1, 100)),
  vebo: maybe(decimal(1, 20)),
  ic: maybe(decimal(0.01, 10)),
  pd: maybe(decimal(0.01, 10)),
  ft: maybe(decimal(1e5, 1e9)),
  source: text,
});
const polar = (type: DeviceType): DeviceType =>
  type.kind === 'transistor' ? { ...type, polarity: 'pnp' } : type;

const uniqueBy = <T>(item: fc.Arbitrary<T>, key: (item: T) => unknown, maxLength = 4): fc.Arbitrary<T[]> =>
  fc.uniqueArray(item, { selector: key, maxLength });
const volts = decimal(-1000, 1000);

/** A machine but for its types, of which only those that are not built in are generated, so that a failure prints briefly. */
const sketch = fc.record({
  name,
  summary: text,
  reference: fc.constant('0V'),
  ambient: decimal(0, 40),
  rails: uniqueBy(fc.record({ net, volts, tolerance: decimal(0, 100) }), (rail) => rail.net),
  units: uniqueBy(
    fc.record({ id: name, health: fc.constantFrom('healthy', 'faulty', 'unknown') }),
    (unit) => unit.id,
  ),
  instruments: uniqueBy(
    fc.record({
      id: name,
      ohms: decimal(1, 1e9),
      gain: decimal(0, 50),
      random: decimal(0, 50),
      volts: decimal(0, 1),
    }),
    (instrument) => instrument.id,
  ),
  parts,
  own: uniqueBy(deviceType.map(polar), (type) => type.type),
  conditions: uniqueBy(
    fc.record({
      name,
      drives: uniqueBy(fc.record({ net, volts, ohms: decimal(0, 1e6) }), (drive) => drive.net),
      hints: uniqueBy(fc.record({ net, volts }), (hint) => hint.net),
      ...{ steps: maybe(name), note: maybe(text.filter((t) => t !== '')) },
    }),
    (condition) => condition.name,
  ),
  points: fc.oneof(
    fc.constant(undefined),
    fc.uniqueArray(fc.record({ point: net, minutes: decimal(0.1, 100), note: text, caution: maybe(name) }), {
      selector: (p) => p.point,
      minLength: 1,
      maxLength: 4,
    }),
  ),
  readings: fc.array(
    fc.record({
      unit: name,
      condition: name,
      point: net,
      quantity: fc.constantFrom('V', 'ohm', 'Vpp', 's', 'Hz'),
      value: decimal(0, 1e5),
      uncertainty: maybe(decimal(1e-6, 10)),
      takenAt: fc.constantFrom(
        '',
        '1968-05',
        '1968-05-14',
        '1968-05-14T09:30',
        '2004-02-29T23:59:60.5+01:00',
      ),
      ambient: maybe(decimal(-40, 70)),
      instrument: fc.oneof(fc.constant(''), name),
      note: text,
    }),
    { maxLength: 6 },
  ),
  flow: uniqueBy(
    fc.record({
      board,
      stage: fc.constantFrom('gate', 'S 1', '2'),
      inputs: fc.array(net, { maxLength: 3 }),
      outputs: fc.array(net, { maxLength: 3 }),
      breaks: fc.oneof(fc.constant(''), net),
      note: text,
    }),
    ({ board, stage }) => `${board}/${stage}`,
  ),
  boards: uniqueBy(
    fc.record({ name: board, caution: fc.oneof(fc.constant(''), name), note: text }),
    (one) => one.name,
  ),
});
type Sketch = typeof sketch extends fc.Arbitrary<infer S> ? S : never;

function machineOf({ own, points, boards, ...rest }: Sketch): Machine {
  const types = new Map([...BUILT_IN_TYPES, ...own.map((type) => [type.type, type] as const)]);
  return {
    ...rest,
    ...{ types, points: points ?? defaultPoints(rest) },
    ...(boards.length === 0 ? {} : { boards }),
  };
}

const read = (files: ReadonlyMap<string, string>): ReturnType<typeof readMachine> =>
  readMachine(encoded(Object.fromEntries(files)));

describe('a machine', () => {
  it('written as a folder and read again is the same', () => {
    fc.assert(
      fc.property(sketch, (drawn) => {
        const before = machineOf(drawn);
        expect(read(machineFiles(before)).machine).toEqual(before);
      }),
      { numRuns: 300 },
    );
  });

  it('read from a folder and written back unchanged gives the same bytes', () => {
    fc.assert(
      fc.property(sketch, (drawn) => {
        const before = machineOf(drawn);
        const files = machineFiles(before);
        expect(writeMachine(read(files))).toEqual(files);
        // Also when the machine comes back as another value that says the same.
        const document = read(files);
        expect(writeMachine({ ...document, machine: structuredClone(document.machine!) })).toEqual(files);
      }),
      { numRuns: 100 },
    );
  });

  it('changed in any way, written over a foreign folder and read again is the changed one', () => {
    const foreign = (file: string, csv: string, separator: string): string => {
      if (!file.endsWith('.csv')) return csv;
      const rows: string[] = [];
      // An unknown column in front, columns turned round.
      eachRow(csv, ',', ({ row, cells }) => {
        rows.push(rowText([row === 1 ? 'shelf' : `s${row}`, ...[...cells!].reverse()], separator));
        return true;
      });
      return `\uFEFF${rows.join('\r\n')}\r\n`;
    };
    fc.assert(
      fc.property(
        sketch,
        sketch,
        fc.constantFrom(',', ';', '\t'),
        fc.func(fc.boolean()),
        (first, second, separator, keep) => {
          const one = machineOf(first);
          const other = machineOf(second);
          const files = new Map(
            [...machineFiles(one)].map(([file, csv]) => [file, foreign(file, csv, separator)]),
          );
          const document = read(files);
          expect(document.machine).toEqual(one);
          const mixed = <T>(a: readonly T[], b: readonly T[], key: (item: T) => unknown): T[] => {
            const kept = a.filter((item) => keep(key(item)));
            const fresh = b.filter((item) => !kept.some((k) => key(k) === key(item)));
            return keep('turn') ? [...fresh, ...kept] : [...kept, ...fresh];
          };
          const after: { -readonly [K in keyof Machine]: Machine[K] } = {
            ...one,
            name: other.name,
            units: other.units,
            parts: mixed(one.parts, other.parts, (part) => part.name),
            conditions: mixed(one.conditions, other.conditions, (condition) => condition.name),
            readings: mixed(one.readings, other.readings, (reading) => JSON.stringify(reading)),
            flow: mixed(one.flow, other.flow, ({ board, stage }) => `${board}/${stage}`),
            points: other.points,
            boards: other.boards ?? [],
          };
          if (after.boards?.length === 0) delete after.boards;
          const pointsFile = files.has('points.csv') || machineFiles(after).has('points.csv');
          const again = read(writeMachine({ ...document, machine: after })).machine!;
          if (pointsFile) expect(again).toEqual(after);
          else expect({ ...again, points: after.points }).toEqual(after);
        },
      ),
      { numRuns: 200 },
    );
  });
});

describe('a folder written back', () => {
  const extra = `board,ref,shelf,kind,type,value,tolerance,pins,note
ADD,R1,A 7,resistor,,10k,,1=-12V 2=OR,first
ADD,R2,A 8,resistor,,4K7,5,1=OR 2=0V,

ADD,X1,A 9,wire,,,,1=OR 2=0V,not known yet
ADD,R2,B 1,resistor,,1k,,1=OR 2=0V,twice
`;
  const document = folder({ 'parts.csv': extra, 'conditions.csv': undefined, 'readings.csv': undefined });
  const { machine, source } = document;
  const written = (change: Partial<Machine>): string | undefined =>
    writeMachine({ source, machine: { ...machine!, ...change } }).get('parts.csv');

  it('keeps unknown columns, their order, blank rows and rows that could not be read', () => {
    const changed = machine!.parts.map((part) => (part.ref === 'R1' ? { ...part, value: 12_000 } : part));
    expect(written({ parts: changed })).toBe(extra.replace('10k', '12k'));
  });

  it('puts a new part at the end, with nothing in unknown columns', () => {
    const { parts } = machine!;
    const added: Part = { ...parts[0]!, ref: 'R3', name: 'ADD/R3', note: 'new, "spare"' };
    expect(written({ parts: [...parts, added] })).toBe(
      `${extra}ADD,R3,,resistor,,10k,,1=-12V 2=OR,"new, ""spare"""\n`,
    );
  });

  it('leaves a part out that was taken away', () => {
    expect(written({ parts: machine!.parts.slice(1) })).toBe(extra.replace(/ADD,R1.*\n/, ''));
  });

  it('adds a column that has become needed', () => {
    const parts = machine!.parts.map(
      (part): Part =>
        part.ref === 'R1'
          ? {
              ...part,
              kind: 'trimmer',
              setting: 0.5,
              pins: ['1', '2', 'w'].map((pin) => ({ pin, net: 'OR' })),
            }
          : part,
    );
    expect(written({ parts })).toBe(`board,ref,shelf,kind,type,value,tolerance,pins,note,setting
ADD,R1,A 7,trimmer,,10k,10,1=OR 2=OR w=OR,first,0.5
ADD,R2,A 8,resistor,,4K7,5,1=OR 2=0V,,

ADD,X1,A 9,wire,,,,1=OR 2=0V,not known yet,
ADD,R2,B 1,resistor,,1k,,1=OR 2=0V,twice
`);
  });

  it('keeps unknown fields of machine.json', () => {
    const json = {
      ...JSON.parse(SOUND['machine.json']!),
      maker: 'unknown',
      rails: [
        { net: '-12V', volts: -12, regulator: 'Q9' },
        { net: '+6V', volts: 6 },
      ],
    };
    const document = folder({ 'machine.json': JSON.stringify(json) });
    const [first, ...rest] = document.machine!.rails;
    const back = writeMachine({
      ...document,
      machine: { ...document.machine!, rails: [{ ...first!, volts: -11.5 }, ...rest] },
    });
    expect(JSON.parse(back.get('machine.json')!)).toMatchObject({
      maker: 'unknown',
      rails: [
        { net: '-12V', volts: -11.5, regulator: 'Q9' },
        { net: '+6V', volts: 6 },
      ],
    });
  });

  it('appends a reading and leaves the other files to the letter', () => {
    const document = folder();
    const { machine } = document;
    const reading = { ...machine!.readings[0]!, value: -0.15, takenAt: '1968-05-15' };
    const back = writeMachine({
      ...document,
      machine: { ...machine!, readings: [...machine!.readings, reading] },
    });
    expect(Object.fromEntries(back)).toEqual({
      ...SOUND,
      'readings.csv': `${SOUND['readings.csv']}east,low,OUT,V,-0.15,,1968-05-15,21,meter A,\n`,
    });
  });

  it('turns a changed table with decimal commas to decimal points', () => {
    const document = folder({
      'readings.csv': 'unit;note;condition;point;quantity;value\r\neast;1,5;low;OUT;V;-0,12\r\n',
    });
    const { machine } = document;
    const reading = { ...machine!.readings[0]!, value: -0.25 };
    const back = writeMachine({
      ...document,
      machine: { ...machine!, readings: [...machine!.readings, reading] },
    });
    expect(back.get('readings.csv')).toBe(
      'unit,note,condition,point,quantity,value\r\neast,"1,5",low,OUT,V,-0.12\r\neast,"1,5",low,OUT,V,-0.25\r\n',
    );
  });

  it('leaves out files that were refused, so that they are not overwritten', () => {
    const document = folder({ 'readings.csv': 'nonsense\n' });
    const readings = folder().machine!.readings;
    const back = writeMachine({ ...document, machine: { ...document.machine!, name: 'renamed', readings } });
    expect([...back.keys()].sort()).toEqual(['conditions.csv', 'machine.json', 'parts.csv']);
  });

  it('keeps a type that says what the built-in one does', () => {
    const row = 'GE-DIODE,diode,,ge,0.3,1m,5u,100,no type number: common practice; point contact,box 3';
    const types = `type,kind,polarity,material,vj,ij,icbo,rs,source,drawer\n${row}\nZD1,diode,,ge,0.3,1m,5u,100,own,\n`;
    const document = folder({ 'types.csv': types });
    const changed = new Map(document.machine!.types);
    changed.set('ZD1', { ...changed.get('ZD1')!, rs: 50 });
    const back = writeMachine({ ...document, machine: { ...document.machine!, types: changed } });
    expect(back.get('types.csv')).toBe(types.replace('100,own', '50,own'));
  });

  it('keeps a state that only its steps declare, log, photographs and placements to the letter', () => {
    const papers = {
      'states.csv': 'condition,steps,note,shelf\nlow,"clear, hold the 5 key",,\nidle,let go,,B\n',
      'boards.csv': 'board,caution\nADD,reservoir beside it\n',
      'log.csv': 'id,unit,date,kind,text,replaces\n1,west,1968-05-14,symptom,no carry,\n',
      'photographs.csv': 'file,board,side,turn\nadd.jpg,ADD,copper,90\n',
      'placements.csv': 'board,side,mark,x,y\nADD,copper,ADD/Q1.b,0.25,0.5\n',
    };
    const document = folder(papers);
    expect(document.findings).toEqual([]);
    expect(document.machine!.conditions.map(({ name, steps }) => [name, steps])).toEqual([
      ['low', 'clear, hold the 5 key'],
      ['high', undefined],
      ['idle', 'let go'],
    ]);
    expect(Object.fromEntries(writeMachine(document))).toEqual({ ...SOUND, ...papers });
    const renamed = writeMachine({ ...document, machine: { ...document.machine!, name: 'renamed' } });
    expect(Object.fromEntries(renamed)).toMatchObject({
      ...papers,
      'conditions.csv': SOUND['conditions.csv'],
    });
  });

  it('does not pin down points that follow the wiring', () => {
    const document = folder();
    const { machine } = document;
    const parts = machine!.parts.filter(({ ref }) => ref !== 'D2');
    expect(writeMachine({ ...document, machine: { ...machine!, parts } }).has('points.csv')).toBe(false);
  });
});
