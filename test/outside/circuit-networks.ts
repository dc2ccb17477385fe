/** Random circuits for property tests: arbitrary topologies, silly ones among them. */
import fc from 'fast-check';
import { sampleCondition, sampleMachine } from '../../src/circuit/sample-machine.ts';
import type { Machine } from '../../src/machine/index.ts';

const RAILS = { '-12V': -12, '+6V': 6, '+20V': 20 };
const TRANSISTORS = ['GP', 'GN', 'SP', 'SN', 'SNR', 'GPP'];
const DIODES = ['GD', 'GG', 'GL', 'SD', 'SR'];
const OHMS = ['0', '1', '22', '330', '1k', '4.7k', '10k', '47k', '220k', '2.2M'];

/** Three net numbers of a part; which kind; which value. */
const part = fc.tuple(
  fc.constantFrom('R', 'R', 'R', 'D', 'Z', 'Q', 'Q', 'LP', 'RV', 'C', 'S'),
  fc.nat(999),
  fc.nat(999),
  fc.nat(999),
  fc.nat(99),
);

function line(ref: string, kind: string, value: number, [a, b, c]: readonly string[]): string {
  const pick = (list: readonly string[]): string => list[value % list.length]!;
  switch (kind) {
    case 'D':
      return `D${ref} ${pick(DIODES)} a=${a} k=${b}`;
    case 'Z':
      return `Z${ref} ZD ${pick(['3.3', '6.8', '12'])} a=${a} k=${b}`;
    case 'Q':
      return `Q${ref} ${pick(TRANSISTORS)} e=${a} b=${b} c=${c}`;
    case 'LP':
      return `LP${ref} ${pick(['200', '1.2k'])} 1=${a} 2=${b}`;
    case 'RV':
      return `RV${ref} 10k ${pick(['0.01', '0.3', '0.5', '0.99'])} 1=${a} w=${b} 2=${c}`;
    case 'C':
      return `C${ref} ${pick(['1n', '47u'])} 1=${a} 2=${b}`;
    case 'S':
      return `S${ref} ${pick(['open', 'closed'])} 1=${a} 2=${b}`;
    default:
      return `R${ref} ${pick(OHMS)} 1=${a} 2=${b}`;
  }
}

/**
 * A machine of up to `most` parts strung at random between rails, a stiff drive, a drive with resistance and inner
 * nets, about as many as parts. Nothing keeps a part from lying across one net, upside down, or on an island.
 */
export function anyNetwork(most: number): fc.Arbitrary<Machine> {
  return fc
    .record({
      inner: fc.integer({ min: 1, max: Math.ceil(most * 0.7) }),
      parts: fc.array(part, { minLength: 1, maxLength: most, size: 'max' }),
      drive: fc.constantFrom(0, -0.2, -6, 5, -12),
      ohms: fc.constantFrom(50, 1e3, 1e5),
    })
    .map(({ inner, parts, drive, ohms }) => {
      const nets = [
        '0V',
        '0V',
        ...Object.keys(RAILS),
        'IN',
        'FED',
        ...Array.from({ length: inner }, (_, i) => `N${i}`),
      ];
      const lines = parts.map(([kind, a, b, c, value], i) =>
        line(
          String(i + 1),
          kind,
          value,
          [a, b, c].map((k) => nets[k % nets.length]!),
        ),
      );
      return sampleMachine(RAILS, lines, [sampleCondition('rest', { IN: drive, FED: [-drive - 1, ohms] })]);
    });
}

const LOGIC_RAILS = { '-12V': -12, '+6V': 6, '-6V': -6 };
/** A stage, with its inputs taken at random from the outputs before it. */
const stage = fc.record({
  kind: fc.constantFrom('inverter', 'nor', 'nand', 'flip-flop', 'flip-flop', 'follower', 'lamp', 'latch'),
  inputs: fc.tuple(fc.nat(999), fc.nat(999), fc.nat(999)),
  scale: fc.constantFrom(0.7, 1, 1.5),
  set: fc.boolean(),
});

/**
 * A board of up to `stages` stages of saturated PNP logic as built around 1962, caught at -6 V. Condition `hinted` has
 * hints for the state that every bistable pair was dealt, condition `free` has none.
 */
export function logicBoard(stages: number): fc.Arbitrary<Machine> {
  return fc
    .record({
      list: fc.array(stage, { minLength: 1, maxLength: stages, size: 'max' }),
      inputs: fc.tuple(fc.boolean(), fc.boolean(), fc.boolean()),
      germanium: fc.boolean(),
    })
    .map(({ list, inputs, germanium }) => {
      const [q, d] = germanium ? ['GP', 'GD'] : ['SP', 'SD'];
      const lines: string[] = [];
      const hints: Record<string, number> = {};
      const signals = ['I0', 'I1', 'I2'];
      const add = (letter: string, rest: string): void => {
        lines.push(`${letter}${lines.length + 1} ${rest}`);
      };
      const resistor = (ohms: number, a: string, b: string): void => add('R', `${ohms} 1=${a} 2=${b}`);
      const inverter = (input: string, output: string, scale: number): void => {
        resistor(6800 * scale, input, `${output}.b`);
        resistor(47e3 * scale, `${output}.b`, '+6V');
        add('Q', `${q} e=0V b=${output}.b c=${output}`);
        resistor(2200 * scale, output, '-12V');
        add('D', `${d} a=-6V k=${output}`);
      };
      const nand = (from: readonly string[], output: string, scale: number): void => {
        for (const input of from) add('D', `${d} a=${input} k=${output}.g`);
        resistor(8200 * scale, `${output}.g`, '-12V');
        inverter(`${output}.g`, output, scale * 0.6);
      };
      list.forEach(({ kind, inputs: numbers, scale, set }, i) => {
        const from = numbers.map((k) => signals[k % signals.length]!);
        const own = `S${i}`;
        const low = set ? 0 : -6;
        switch (kind) {
          case 'inverter':
            inverter(from[0]!, own, scale);
            break;
          case 'nor':
            resistor(10e3 * scale, from[1]!, `${own}.b`);
            inverter(from[0]!, own, scale);
            break;
          case 'nand':
            nand([...new Set(from)], own, scale);
            break;
          case 'follower':
            add('Q', `${q} e=${own} b=${from[0]} c=-12V`);
            resistor(4700 * scale, own, '+6V');
            break;
          case 'lamp':
            resistor(4700, from[0]!, `${own}.b`);
            add('Q', `${q} e=0V b=${own}.b c=${own}.l`);
            add('LP', `1.2k 1=${own}.l 2=-12V`);
            return;
          case 'flip-flop':
            inverter(`${own}n`, own, scale);
            inverter(own, `${own}n`, scale);
            signals.push(`${own}n`);
            Object.assign(hints, { [own]: low, [`${own}n`]: -6 - low });
            break;
          case 'latch':
            nand([`${own}n`], own, scale);
            nand([own], `${own}n`, scale);
            signals.push(`${own}n`);
            Object.assign(hints, { [own]: low, [`${own}n`]: -6 - low });
            break;
        }
        signals.push(own);
      });
      const drives = Object.fromEntries(inputs.map((on, i) => [`I${i}`, on ? -6 : -0.1]));
      return sampleMachine(LOGIC_RAILS, lines, [
        sampleCondition('hinted', drives, hints),
        sampleCondition('free', drives),
      ]);
    });
}
