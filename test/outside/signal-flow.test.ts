/**
 * The signal flow of machines that others have drawn: published logic circuits, and the demo machine whose stages its maker's sheets name.
 *
 * The circuits are the sequential benchmarks of F. Brglez, D. Bryan and K. Kozminski, Combinational profiles of sequential benchmark
 * circuits, ISCAS 1989, in their own text form; read in place where the reference data is present. Their loops are counted here by a plain
 * reference of its own: which net reaches which, by a closure of sets.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { tideGauge } from '../../demo/machine/index.ts';
import { CircuitSolver, netlistOf } from '../../src/circuit/index.ts';
import {
  goodInputsBadOutput,
  type Look,
  loopsOf,
  type Stage,
  signalFlow,
  strongParts,
} from '../../src/logic/index.ts';
import type { FlowStage, Machine } from '../../src/machine/index.ts';
import { referenceFolder } from './captures-folder.ts';

interface Gate {
  readonly output: string;
  readonly kind: string;
  readonly inputs: readonly string[];
}

/** The lines `OUTPUT = KIND(INPUT, …)` of a benchmark. */
function gatesOf(text: string): Gate[] {
  return [...text.matchAll(/^\s*(\S+)\s*=\s*(\w+)\(([^)]*)\)/gm)].map(([, output, kind, inputs]) => {
    return { output: output!, kind: kind!, inputs: inputs!.split(',').map((one) => one.trim()) };
  });
}

/** All gates as stages drawn by hand on one board that nobody has traced. */
function drawn(gates: readonly Gate[]): Machine {
  const flow = gates.map(({ output, inputs }): FlowStage => {
    return { board: 'M', stage: output, inputs, outputs: [output], breaks: '', note: '' };
  });
  return { ...tideGauge(), parts: [], rails: [], conditions: [], boards: [], points: [], flow };
}

/** For each net the nets that it reaches by one gate or more, as bits. */
function closure(gates: readonly Gate[]): {
  readonly nets: readonly string[];
  readonly reach: readonly bigint[];
} {
  const nets = [...new Set(gates.flatMap(({ output, inputs }) => [output, ...inputs]))];
  const place = new Map(nets.map((net, i) => [net, i]));
  const reach = nets.map(() => 0n);
  for (const { output, inputs } of gates)
    for (const input of inputs) reach[place.get(input)!]! |= 1n << BigInt(place.get(output)!);
  nets.forEach((_, k) => {
    for (let i = 0; i < nets.length; i++) if ((reach[i]! >> BigInt(k)) & 1n) reach[i]! |= reach[k]!;
  });
  return { nets, reach };
}

const folder = referenceFolder('iscas89');
const files = folder === undefined ? [] : readdirSync(folder).filter((file) => file.endsWith('.bench'));

describe.skipIf(folder === undefined)('published sequential circuits', () => {
  test.each(files)('the loops of %s are those of a plain closure', (file) => {
    const gates = gatesOf(readFileSync(join(folder!, file), 'utf8'));
    const { nets, reach } = closure(gates);
    const flow = signalFlow(drawn(gates));
    const part = new Map(strongParts(flow.next).flatMap((nodes, k) => nodes.map((net) => [net, k] as const)));
    const has = (i: number, j: number) => ((reach[i]! >> BigInt(j)) & 1n) === 1n;
    nets.forEach((net, i) => {
      expect(part.has(net), net).toBe(has(i, i));
      nets.forEach((other, j) => {
        const together = part.has(net) && part.get(net) === part.get(other);
        if (together !== (has(i, j) && has(j, i))) expect.fail(`${net} and ${other} of ${file}`);
      });
    });
  });

  test.each(files)('every loop of %s goes through a flip-flop', (file) => {
    const gates = gatesOf(readFileSync(join(folder!, file), 'utf8'));
    const machine = drawn(gates);
    const held = new Set(gates.filter(({ kind }) => kind === 'DFF').map(({ output }) => output));
    for (const { rings } of loopsOf(machine, signalFlow(machine)))
      for (const { nets } of rings) expect(nets.some((net) => held.has(net))).toBe(true);
  });

  test('with the flip-flops left out, as if each loop were opened there, no loop is left', () => {
    for (const file of files) {
      const gates = gatesOf(readFileSync(join(folder!, file), 'utf8')).filter(({ kind }) => kind !== 'DFF');
      expect(strongParts(signalFlow(drawn(gates)).next)).toEqual([]);
    }
  });

  test('s27, gone through by hand: G7, G12 and G13 are one loop, G5, G6, G8 to G11, G15 and G16 another', () => {
    const gates = gatesOf(readFileSync(join(folder!, 's27.bench'), 'utf8'));
    const parts = strongParts(signalFlow(drawn(gates)).next).map((nets) => [...nets].sort());
    expect(parts).toEqual([
      ['G12', 'G13', 'G7'],
      ['G10', 'G11', 'G15', 'G16', 'G5', 'G6', 'G8', 'G9'],
    ]);
  });
});

describe('the demo machine', () => {
  const machine = tideGauge();
  const flow = signalFlow(machine);
  const stage = (name: string): Stage => flow.stages.find((one) => one.name === name)!;
  const driver = (net: string): string => {
    const [one] = flow.driversOf.get(net)!;
    return `${one!.group?.kind ?? one!.kind}`;
  };

  test('every bit of the counter is a bistable of two inverters, with pulse steering in front of either base', () => {
    for (const bit of ['BIT1', 'BIT2', 'BIT4', 'BIT8']) {
      expect(driver(bit)).toBe('bistable');
      expect(driver(`${bit}N`)).toBe('bistable');
      expect(driver(`${bit}.set`)).toBe('pulse steering');
      expect(driver(`${bit}.rst`)).toBe('pulse steering');
    }
    expect(stage('CTR/Q9').kind).toBe('lamp driver');
    expect(driver('NINEN')).toBe('inverter');
    expect(driver('TENS')).toBe('relay driver');
  });

  test('the clock is a multivibrator with a follower behind it, its phases a bistable and diode gates', () => {
    expect([driver('OSC'), driver('OSCN')]).toEqual(['multivibrator', 'multivibrator']);
    expect(driver('CK')).toBe('follower');
    expect([driver('PH'), driver('K1'), driver('K2')]).toEqual(['bistable', 'bistable', 'bistable']);
    expect(flow.driversOf.get('CLK.P1N.and')![0]).toMatchObject({ kind: 'diode gate', wins: 'highest' });
  });

  test('the adder is two layers of diode gates in front of inverters: of mark, the negative level, AND and then OR', () => {
    for (const sum of ['AN', 'BN', 'SUMN', 'CARRYN']) {
      const [or] = flow.driversOf.get(`ADD.${sum}.or`)!;
      expect(or).toMatchObject({ kind: 'diode gate', wins: 'lowest' });
      for (const term of or!.inputs)
        expect(flow.driversOf.get(term)![0]).toMatchObject({ kind: 'diode gate', wins: 'highest' });
      expect(driver(sum)).toBe('inverter');
    }
    expect(driver('OUT')).toBe('complementary follower');
  });

  test('the supply is a regulator with its loop, the line board an amplifier and a Schmitt trigger', () => {
    const regulator = { kind: 'series regulator', parts: ['PWR/Q1', 'PWR/Q2', 'PWR/Q3', 'PWR/Q4'] };
    for (const name of regulator.parts) expect(stage(name).group).toEqual(regulator);
    expect(stage('PWR/Q5').kind).toBe('series regulator');
    expect([stage('LNE/Q1').kind, stage('LNE/Q2').kind]).toEqual(['amplifier stage', 'amplifier stage']);
    expect(stage('LNE/Q4').group).toEqual({ kind: 'Schmitt trigger', parts: ['LNE/Q4', 'LNE/Q5'] });
    expect(driver('LNE.T1.2a')).toBe('transformer');
  });

  test('every net but the reference is driven, none either way, and its maker drew nothing that the wiring denies', () => {
    const nets = new Set(machine.parts.flatMap(({ pins }) => pins.map(({ net }) => net)));
    nets.delete('0V');
    expect([...nets].filter((net) => !flow.drives.has(net))).toEqual([]);
    expect([...flow.drives.values()].flat().filter(({ certain }) => !certain)).toEqual([]);
    expect(flow.contradictions).toEqual([]);
  });

  test('BIT8 stands in one loop with BIT2 and BIT4, BIT1 apart, and neither is opened without saying where', () => {
    const loops = loopsOf(machine, flow);
    const of = (net: string) => loops.find(({ nets }) => nets.includes(net))!;
    expect(of('BIT8')).toBe(of('BIT2'));
    expect(of('BIT8')).toBe(of('BIT4'));
    expect(of('BIT1')).not.toBe(of('BIT8'));
    for (const net of ['BIT1', 'BIT8', 'HELD', 'PH', 'OSC'])
      expect(of(net).rings.flatMap(({ places }) => places).length).toBeGreaterThan(0);
    expect(of('-12V').regulates).toBe(true);
  });

  test('every hold proposed keeps its net where it says, in every state tried, and carries no more than it says', () => {
    const holds = loopsOf(machine, flow).flatMap(({ rings }) =>
      rings.flatMap(({ places }) => places.flatMap((place) => (place.kind === 'hold' ? [place] : []))),
    );
    const once = new Map(holds.map((place) => [`${place.net} ${place.to}`, place]));
    expect(once.size).toBeGreaterThan(30);
    for (const { net, to, ohms, amperes, stands } of once.values()) {
      const clip = {
        board: 'CLIP',
        ref: 'R1',
        name: 'CLIP/R1',
        kind: 'resistor' as const,
        type: '',
        value: ohms,
        tolerance: 5,
        pins: [
          { pin: '1', net },
          { pin: '2', net: to },
        ],
        note: '',
      };
      const netlist = netlistOf({ ...machine, parts: [...machine.parts, clip] });
      const solver = new CircuitSolver(netlist);
      for (const name of ['counter 0', 'counter 9']) {
        const condition = machine.conditions.find((one) => one.name === name)!;
        // The state's hints would hold what the clip holds otherwise.
        const { converged, volts } = solver.solve({ ...condition, hints: [] });
        expect(converged, `${net} in ${name}`).toBe(true);
        const left = Math.abs(volts[netlist.netIndex.get(net)!]! - volts[netlist.netIndex.get(to)!]!);
        expect(left, `${net} in ${name}`).toBeLessThan(stands === 'off' ? 0.1 : 0.2);
        expect(left / ohms, `${net} in ${name}`).toBeLessThanOrEqual(amperes);
      }
    }
  });

  test('a bad carry with good inputs names its stage; with all of the held carry bad, that loop', () => {
    const told = (looks: Record<string, Look>) =>
      goodInputsBadOutput(machine, flow, new Map([['s', new Map(Object.entries(looks))]]), []);
    const carry = told({ 'ADD.CARRYN.or': 'good', CARRYN: 'bad', CARRY: 'bad' });
    expect(carry.named.map(({ stages }) => stages[0]!.name)).toEqual(['ADD/Q7']);
    const held = told({ HELD: 'bad', HELDN: 'bad', CARRY: 'bad', CARRYN: 'bad' });
    expect(held.loops[0]!.loop.nets).toContain('HELD');
    expect(held.named).toEqual([]);
  });
});
