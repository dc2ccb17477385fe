/** The tuning half: boards on which the program's settings may be chosen. */
import type { Rail } from '../../../src/machine/model.ts';
import { Kit, type TrialBoard } from './kit.ts';
import {
  amplifier,
  type Family,
  flipFlop,
  follower,
  latch,
  logicInput,
  nand,
  nor,
  schmitt,
} from './stages.ts';

const MINUS12: Rail = { net: '-12V', volts: -12, tolerance: 5 };
const MINUS6: Rail = { net: '-6V', volts: -6, tolerance: 5 };
const PLUS6: Rail = { net: '+6V', volts: 6, tolerance: 5 };

const RTL: Family = {
  sign: -1,
  transistor: 'PG21',
  diode: 'DG10',
  supply: '-12V',
  volts: -12,
  bias: '+6V',
  rc: 2200,
  rb: 15e3,
  rk: 100e3,
};
const DTL: Family = { ...RTL, diode: 'DG20', clamp: { net: '-6V', volts: -6 }, rk: 22e3 };

/** Eight resistor-coupled gates that decode three bits, their complements, and collecting gates behind. */
function decoder(): TrialBoard {
  const kit = new Kit('DEC', {
    summary: 'Decoder of three bits in saturated PNP resistor-transistor logic',
    rails: [MINUS12, PLUS6],
    pins: 'all',
  });
  const bits = ['A', 'B', 'C'].map((name) => logicInput(kit, RTL, name));
  const strong = { ...RTL, rc: 1000, rb: 8200 };
  const complements = bits.map((bit) => nor(kit, strong, `${bit}N`, [bit]));
  const straight = complements.map((bit, k) => nor(kit, strong, `${bits[k]}T`, [bit]));
  const lines = Array.from({ length: 8 }, (_, code) =>
    nor(
      kit,
      { ...RTL, rb: 22e3 },
      `Y${code}`,
      [0, 1, 2].map((k) => (code & (1 << k) ? complements[k]! : straight[k]!)),
    ),
  );
  const low = nor(kit, RTL, 'LOWN', lines.slice(0, 4));
  const odd = nor(kit, RTL, 'ODDN', [lines[1]!, lines[3]!, lines[5]!, lines[7]!]);
  const outputs = [nor(kit, RTL, 'LOW', [low]), nor(kit, RTL, 'ODD', [odd])];
  for (const code of [0, 1, 2, 3, 4, 5, 6, 7])
    kit.condition(
      `code ${code}`,
      bits.filter((_, k) => code & (1 << k)),
    );
  return kit.finish('tuning', 'resistor-transistor logic, PNP germanium', [...lines, ...outputs]);
}

/** Four steered flip-flops in a ring with a shared clock driver and a coincidence gate. */
function counter(): TrialBoard {
  const kit = new Kit('CNT', {
    summary: 'Four-stage counter of cross-coupled PNP pairs with diode-capacitor steering',
    rails: [MINUS12, PLUS6],
    pins: 'all',
  });
  const clock = logicInput(kit, RTL, 'CLK');
  const clockN = nor(kit, { ...RTL, rc: 1500 }, 'CKN', [clock]);
  follower(kit, 'PG35', 'CKF', clockN, '-12V', '+6V', 4700);
  const names = ['FA', 'FB', 'FC', 'FD'];
  names.forEach((name, k) => {
    flipFlop(kit, RTL, name, { clock: k === 0 ? 'CKF' : `${names[k - 1]}-Q`, loaded: 0.75 });
  });
  const all = { ...RTL, rb: 24e3 };
  const outputs = [
    nor(kit, all, 'ZERO', ['FA-Q', 'FB-Q', 'FC-Q', 'FD-Q']),
    nor(kit, all, 'FULL', ['FA-N', 'FB-N', 'FC-N', 'FD-N']),
  ];
  outputs.push(follower(kit, 'PG35', 'ZEROF', 'ZERO', '-12V', '+6V', 6800));
  for (const count of [0, 1, 2, 5, 7, 10, 12, 15])
    kit.condition(
      `count ${count}`,
      names.filter((_, k) => count & (1 << k)).concat(count & 1 ? ['CLK'] : []),
    );
  return kit.finish('tuning', 'flip-flop counter, diode-capacitor steering', [...outputs, 'FD-Q', 'FD-N']);
}

/** Sum and carry of two bits and a held carry, all in clamped diode-transistor gates. */
function adder(): TrialBoard {
  const kit = new Kit('ADD', {
    summary: 'Serial adder of clamped PNP diode-transistor gates with a carry latch',
    rails: [MINUS12, MINUS6, PLUS6],
    pins: 'half',
  });
  const a = logicInput(kit, DTL, 'A');
  const b = logicInput(kit, DTL, 'B');
  const gate = logicInput(kit, DTL, 'WT');
  const c = 'CY-Q';
  const x1 = nand(kit, DTL, 'X1', [a, b]);
  const x2 = nand(kit, DTL, 'X2', [a, x1]);
  const x3 = nand(kit, DTL, 'X3', [b, x1]);
  const h = nand(kit, DTL, 'H', [x2, x3]);
  // The latch stands first in the reckoning of levels; its inputs follow from the gates below.
  latch(kit, DTL, 'CY', ['CS'], ['CR']);
  const y1 = nand(kit, DTL, 'Y1', [h, c]);
  const y2 = nand(kit, DTL, 'Y2', [h, y1]);
  const y3 = nand(kit, DTL, 'Y3', [c, y1]);
  const sum = nand(kit, DTL, 'SUM', [y2, y3]);
  const carry = nand(kit, DTL, 'CO', [x1, y1]);
  const carryN = nand(kit, DTL, 'CON', [carry]);
  nand(kit, DTL, 'CS', [carry, gate]);
  nand(kit, DTL, 'CR', [carryN, gate]);
  for (let code = 0; code < 8; code++) {
    const truths = [a, b, 'CY'].filter((_, k) => code & (1 << k));
    kit.condition(`a${code & 1} b${(code >> 1) & 1} c${code >> 2}`, truths);
  }
  return kit.finish('tuning', 'serial adder, diode-transistor logic with clamps', [
    sum,
    carry,
    'CY-Q',
    'CY-N',
  ]);
}

/** Level sensors: followers, Schmitt triggers, gates and lamps. */
function sensors(): TrialBoard {
  const kit = new Kit('SEN', {
    summary: 'Four level sensors with Schmitt triggers and lamps',
    rails: [MINUS12, PLUS6, { net: '-24V', volts: -24, tolerance: 8 }],
    pins: 'transistors',
  });
  const names = ['P', 'Q', 'R', 'S'];
  const outputs: string[] = [];
  for (const name of names) {
    const input = kit.input(`${name}IN`, -0.5, -9, 1000);
    const f = `${name}F`;
    follower(kit, 'PG22', f, input, '-12V', '+6V', 6800);
    kit.logic(f, [input], ([v]) => v!, [-1.2, 0.4], [-10, -7.5]);
    const trigger = schmitt(kit, RTL, `${name}T`, f);
    // The trigger's false level is some -3 V; a zener takes it off before the lamp stage.
    kit.z('ZS5', trigger, `${name}L-Z`, 4.7);
    kit.r(`${name}L-Z`, `${name}L-B`, 3300);
    kit.r(`${name}L-B`, '+6V', 22e3);
    kit.q('PG21', `${name}L-D`, `${name}L-B`, '-12V');
    kit.r(`${name}L-D`, `${name}L-P`, 390);
    kit.r(`${name}L-P`, '+6V', 4700);
    kit.q('PG35', '0V', `${name}L-P`, `${name}LAMP`);
    kit.lamp(`${name}LAMP`, '-24V', 330);
    kit.logic(`${name}LAMP`, [trigger], ([v]) => !v, [-1.5, 0], [-25.5, -22]);
    outputs.push(`${name}LAMP`);
  }
  const any = nor(kit, { ...RTL, rb: 22e3 }, 'QUIET', ['PF', 'QF', 'RF', 'SF']);
  outputs.push(any);
  kit.condition('all low', []);
  kit.condition('P high', ['PIN']);
  kit.condition('Q R high', ['QIN', 'RIN']);
  kit.condition('R S high', ['RIN', 'SIN']);
  kit.condition('P S high', ['PIN', 'SIN']);
  kit.condition('all high', ['PIN', 'QIN', 'RIN', 'SIN']);
  return kit.finish('tuning', 'Schmitt triggers, followers, lamp drivers', outputs);
}

/** Three germanium series regulators with zener references, loaded through switches of the test rig. */
function supply(): TrialBoard {
  const kit = new Kit('REG', {
    summary: 'Germanium series regulators for -12 V, -6 V and +6 V',
    rails: [
      { net: '-20V', volts: -20, tolerance: 10 },
      { net: '+13V', volts: 13, tolerance: 10 },
    ],
    pins: 'all',
  });
  const regulator = (
    name: string,
    raw: string,
    sign: 1 | -1,
    volts: number,
    [pass, driver, error]: readonly [string, string, string],
    reference: number,
  ) => {
    const n = (s: string) => `${name}-${s}`;
    kit.fuse(raw, n('IN'), 1);
    kit.c(...((sign > 0 ? [n('IN'), '0V'] : ['0V', n('IN')]) as [string, string]), 500e-6);
    kit.r(n('IN'), n('X'), 2200);
    kit.q(driver, n('D'), n('X'), n('IN'));
    kit.r(n('D'), name, 470);
    kit.q(pass, n('S'), n('D'), n('IN'));
    kit.r(n('S'), name, 0.5, 5);
    // Error amplifier: emitter at the zener, base at the divider, collector takes current from X.
    if (sign > 0) kit.z('ZS7', '0V', n('REF'), reference);
    else kit.z('ZS7', n('REF'), '0V', reference);
    kit.r(name, n('REF'), volts > 8 ? 1000 : 390);
    kit.q(error, n('REF'), n('TAP'), n('X'));
    const lower = reference + 0.35;
    const total = 2500;
    kit.r(name, n('T1'), Math.round((total * (volts - lower)) / volts / 10) * 10 - 100, 5);
    kit.trimmer(n('T1'), n('T2'), n('TAP'), 250, 0.5);
    kit.r(n('T2'), '0V', Math.round((total * lower) / volts / 10) * 10 - 100, 5);
    kit.c(...((sign > 0 ? [name, '0V'] : ['0V', name]) as [string, string]), 100e-6);
    kit.r(name, '0V', volts > 8 ? 1200 : 560);
  };
  regulator('M12', '-20V', -1, 12, ['PG60', 'PG35', 'PG22'], 6.2);
  regulator('M6', 'M12', -1, 6, ['PG35', 'PG21', 'PG22'], 3.3);
  regulator('P6', '+13V', 1, 6, ['NG35', 'NG21', 'NG21'], 3.3);
  // Supply monitor: a lamp that lights when all three are there.
  kit.z('ZS7', 'MON-Z', 'M12', 9.1);
  kit.r('MON-Z', 'MON-B', 4700);
  kit.r('MON-B', 'P6', 15e3);
  kit.q('PG21', '0V', 'MON-B', 'MON-C');
  kit.r('MON-C', 'MON-R', 470);
  kit.lamp('MON-R', 'M12', 400);
  kit.r('MON-C', 'MON-S', 5600);
  kit.r('MON-S', 'M6', 6800);
  kit.q('NG21', '0V', 'MON-S', 'OK');
  kit.r('OK', 'P6', 3300);
  const range = (v: number): [number, number] => (v < 0 ? [v * 1.13, v * 0.87] : [v * 0.87, v * 1.13]);
  const expected = { M12: range(-12), M6: range(-6), P6: range(6), 'MON-C': [-0.6, 0] as const };
  kit.condition('no load', [], { expected });
  kit.condition('half load', [], {
    drives: [
      { net: 'M12', volts: 0, ohms: 100 },
      { net: 'M6', volts: 0, ohms: 150 },
      { net: 'P6', volts: 0, ohms: 220 },
    ],
    expected,
  });
  kit.condition('full load', [], {
    drives: [
      { net: 'M12', volts: 0, ohms: 47 },
      { net: 'M6', volts: 0, ohms: 100 },
      { net: 'P6', volts: 0, ohms: 120 },
    ],
    expected,
  });
  kit.condition('crossed load', [], {
    drives: [
      { net: 'M12', volts: -6, ohms: 100 },
      { net: 'M6', volts: 6, ohms: 220 },
    ],
    expected,
  });
  return kit.finish('tuning', 'series regulators, germanium', ['M12', 'M6', 'P6', 'OK']);
}

/** Two chains of amplifier stages, AC-coupled, with followers between and muting transistors. */
function amplifiers(): TrialBoard {
  const kit = new Kit('AMP', {
    summary: 'Two chains of AC-coupled PNP amplifier stages with muting',
    rails: [MINUS12, PLUS6],
    pins: 'all',
  });
  const outputs: string[] = [];
  const mute = kit.input('MUTE', 0.5, -6, 1000);
  for (const chain of ['L', 'R']) {
    const n = (s: string) => `${chain}${s}`;
    kit.r('-12V', n('V'), chain === 'L' ? 330 : 270);
    kit.c('0V', n('V'), 100e-6);
    kit.r(n('IN'), '0V', 10e3);
    kit.input(n('IN'), 0, 0.2, 600);
    amplifier(kit, 'PG22', -1, n('1'), n('V'), n('IN'));
    follower(kit, 'PG21', n('1F'), n('1'), n('V'), '0V', 2700);
    amplifier(kit, 'PG22', -1, n('2'), n('V'), n('1F'), 0.68);
    amplifier(kit, 'PG22', -1, n('3'), n('V'), n('2'), 1.2);
    kit.r(mute, n('M-B'), 12e3);
    kit.r(n('M-B'), '+6V', 100e3);
    kit.q('PG21', '0V', n('M-B'), n('3F'));
    kit.r(n('3'), n('3F'), 3300);
    follower(kit, 'PG35', n('OUT'), n('3F'), '-12V', '0V', 820);
    kit.c('0V', n('SPK'), 50e-6);
    kit.r(n('OUT'), n('SPK'), 47);
    kit.r(n('SPK'), '0V', 2200);
    outputs.push(n('1F'), n('2'), n('3'), n('OUT'));
  }
  kit.condition('open', [], { expected: { L1: [-9.5, -3.3], R1: [-9.5, -3.3], LOUT: [-9, -3] } });
  kit.condition('muted', ['MUTE'], { expected: { LOUT: [-0.4, 0.3], ROUT: [-0.4, 0.3] } });
  kit.condition('offset', ['LIN', 'RIN'], { expected: { LOUT: [-9, -3], L2: [-9.5, -3.3] } });
  return kit.finish('tuning', 'AC-coupled amplifier chains at DC', outputs);
}

/** Complementary line and clock drivers: a PNP inverter, then an NPN and a PNP follower, with level shift. */
function drivers(): TrialBoard {
  const kit = new Kit('DRV', {
    summary: 'Complementary clock and line drivers, NPN and PNP',
    rails: [MINUS12, PLUS6],
    pins: 'half',
  });
  const outputs: string[] = [];
  for (const name of ['P1', 'P2', 'P3', 'P4', 'P5']) {
    const input = logicInput(kit, RTL, `${name}I`);
    const inverted = nor(kit, RTL, `${name}N`, [input]);
    const driven = nor(kit, { ...RTL, rc: 1500 }, `${name}M`, [inverted]);
    const out = `${name}O`;
    kit.r(driven, `${name}U`, 100);
    kit.q('NG21', `${name}EN`, `${name}U`, '0V');
    kit.q('PG35', `${name}EP`, `${name}U`, '-12V');
    kit.r(`${name}EN`, out, 22);
    kit.r(`${name}EP`, out, 22);
    kit.r(out, '0V', 1800);
    kit.logic(out, [driven], ([v]) => v!, [-0.9, 0.1], [-12.5, -8]);
    // Shift to a positive logic line for the neighbour board: NPN stage between 0 and +6 V.
    const low = `${name}S`;
    kit.r(out, `${low}-B`, 10e3);
    kit.r(`${low}-B`, '+6V', 8200);
    kit.q('NG21', '0V', `${low}-B`, low);
    kit.r(low, '+6V', 1500);
    kit.d('DG20', '0V', `${low}-B`);
    kit.logic(low, [out], ([v]) => v!, [-0.1, 0.5], [5, 6.4]);
    outputs.push(out, low);
  }
  kit.condition('all off', []);
  kit.condition('phase 1', ['P1I']);
  kit.condition('phase 2', ['P2I', 'P3I']);
  kit.condition('phase 3', ['P4I', 'P1I']);
  kit.condition('phase 4', ['P5I', 'P3I']);
  kit.condition('all on', ['P1I', 'P2I', 'P3I', 'P4I', 'P5I']);
  return kit.finish('tuning', 'complementary drivers and level shifters', outputs);
}

/** Weighted current sources with trimmers, steered by transistor pairs into a summing line. */
function sources(): TrialBoard {
  const kit = new Kit('DAC', {
    summary: 'Weighted current sources with trimmers, steered pairs and a reference',
    rails: [MINUS12, PLUS6, { net: '+12V', volts: 12, tolerance: 5 }],
    pins: 'transistors',
  });
  // Reference: a zener from +12 V with a follower whose junction drop matches the sources.
  kit.z('ZS7', 'VZ', '+12V', 6.2);
  kit.r('VZ', '0V', 680);
  kit.trimmer('+12V', 'VZ', 'VT', 4700, 0.12);
  kit.q('PS10', 'VRE', 'VT', '-12V');
  kit.r('+12V', 'VRE', 3300);
  kit.d('DS10', 'VRE', 'VR');
  kit.r('VR', '0V', 5600);
  const outputs = ['SUM', 'DUMP'];
  const bits: string[] = [];
  const ohms = [1200, 2400, 4700, 9100, 18e3];
  ohms.forEach((value, k) => {
    const n = (s: string) => `B${k}${s}`;
    const input = kit.input(n('I'), 1.6, -1.6, 470);
    bits.push(input);
    kit.r('+12V', n('T'), value, 2);
    kit.trimmer(n('T'), n('E'), n('T'), Math.round(value / 12), 0.5);
    kit.q('PS10', n('E'), 'VR', n('S'));
    kit.q('PG22', n('S'), n('P'), 'SUM');
    kit.q('PG22', n('S'), 'MID', 'DUMP');
    kit.r(input, n('P'), 1000);
    kit.d('DG20', n('P'), n('C'));
    kit.r(n('C'), '0V', 330);
    kit.r(n('P'), '+6V', 12e3);
  });
  kit.r('MID', '0V', 220);
  kit.r('SUM', '-12V', 820, 5);
  kit.r('DUMP', '-12V', 820, 5);
  follower(kit, 'PG21', 'SUMF', 'SUM', '-12V', '+6V', 4700);
  follower(kit, 'PG21', 'DUMPF', 'DUMP', '-12V', '+6V', 4700);
  outputs.push('SUMF', 'DUMPF');
  for (const code of [0, 1, 2, 4, 8, 16, 21, 31])
    kit.condition(
      `code ${code}`,
      bits.filter((_, k) => code & (1 << k)),
      { expected: code === 0 ? { SUM: [-12.5, -11.4] } : code === 31 ? { SUM: [-10.5, -3] } : {} },
    );
  return kit.finish('tuning', 'current sources, trimmers, steered pairs', outputs);
}

export const TUNING: Readonly<Record<string, () => TrialBoard>> = {
  DEC: decoder,
  CNT: counter,
  ADD: adder,
  SEN: sensors,
  REG: supply,
  AMP: amplifiers,
  DRV: drivers,
  DAC: sources,
};
