/** For tests: machines drawn at random, with all that a table, a list in a cell or a name could stumble over. */
import fc from 'fast-check';
import {
  BUILT_IN_TYPES,
  type CapturedWave,
  type DeviceType,
  type Drive,
  type DriveWave,
  defaultPoints,
  KIND_RULES,
  type Machine,
  PART_KINDS,
  type Part,
  type PartKind,
  type Pin,
} from '../../src/machine/index.ts';
import { eachRow, rowText } from '../../src/machine/table.ts';

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

const wave: fc.Arbitrary<NonNullable<Drive['wave']>> = fc.oneof(
  fc.tuple(volts, volts, decimal(1e-6, 1), fc.boolean()).map(([low, high, width, negative]): DriveWave => {
    const shape = { edge: 'linear', rise: width / 4, fall: width / 2, delay: width } as const;
    const turned = negative ? { negative } : {};
    return { kind: 'pulses', low, high, width, period: 2 * width, ...shape, ...turned };
  }),
  fc.constant<CapturedWave>({ kind: 'capture', file: 'two words.csv', channel: 'CH1' }),
);

/** A machine but for its types, of which only those that are not built in are generated, so that a failure prints briefly. */
export const sketch = fc.record({
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
      drives: uniqueBy(
        fc.oneof(
          fc.record({ net, volts, ohms: decimal(0, 1e6) }),
          fc.record({ net, volts, ohms: decimal(0, 1e6), wave }),
        ),
        (drive) => drive.net,
      ),
      hints: uniqueBy(fc.record({ net, volts }), (hint) => hint.net),
      watch: maybe(fc.tuple(decimal(0, 10), decimal(11, 20)).map(([from, to]) => ({ from, to }))),
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
      quantity: fc.constantFrom('V', 'ohm', 'Vpp', 's', 'Hz', 'high', 'width', 'delay:A'),
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
export type Sketch = typeof sketch extends fc.Arbitrary<infer S> ? S : never;

export function machineOf({ own, points, boards, ...rest }: Sketch): Machine {
  const types = new Map([...BUILT_IN_TYPES, ...own.map((type) => [type.type, type] as const)]);
  return {
    ...rest,
    ...{ types, points: points ?? defaultPoints(rest) },
    ...(boards.length === 0 ? {} : { boards }),
  };
}

/** A file as somebody else would have written it: an unknown column in front, columns turned round, other separators. */
export function foreign(file: string, csv: string, separator: string): string {
  if (!file.endsWith('.csv')) return csv;
  const rows: string[] = [];
  eachRow(csv, ',', ({ row, cells }) => {
    rows.push(rowText([row === 1 ? 'shelf' : `s${row}`, ...[...cells!].reverse()], separator));
    return true;
  });
  return `\uFEFF${rows.join('\r\n')}\r\n`;
}
