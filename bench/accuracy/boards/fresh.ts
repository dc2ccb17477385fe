/** The test half: boards of other kinds, whose table is published and on which nothing is tuned. */
import type { Rail } from '../../../src/machine/model.ts';
import { Kit, type TrialBoard } from './kit.ts';
import { type Family, flipFlop, follower, latch, logicInput, monostable, nand, nor } from './stages.ts';

const rail = (net: string, volts: number, tolerance = 5): Rail => ({ net, volts, tolerance });

const PNP9: Family = {
  sign: -1,
  transistor: 'PG22',
  diode: 'DG10',
  supply: '-9V',
  volts: -9,
  bias: '+4V5',
  rc: 1500,
  rb: 12e3,
  rk: 82e3,
};
const NPN9: Family = {
  sign: 1,
  transistor: 'NG21',
  diode: 'DG10',
  supply: '+9V',
  volts: 9,
  bias: '-4V5',
  rc: 1800,
  rb: 13e3,
  rk: 82e3,
};
const SILICON: Family = {
  sign: 1,
  transistor: 'NS10',
  diode: 'DS10',
  supply: '+12V',
  volts: 12,
  bias: '-6V',
  clamp: { net: '+6V', volts: 6 },
  rc: 2200,
  rb: 15e3,
  rk: 22e3,
};

/** Six delay stages that trigger one another, held by level inputs, with output gates. */
function delays(): TrialBoard {
  const kit = new Kit('DLY', {
    summary: 'Chain of monostables with level inputs and output gates',
    rails: [rail('-9V', -9), rail('+4V5', 4.5)],
    pins: 'half',
  });
  const start = logicInput(kit, PNP9, 'GO');
  const holds = ['HA', 'HB', 'HC'].map((name) => logicInput(kit, PNP9, name, 2200));
  const outputs: string[] = [];
  let trigger = nor(kit, PNP9, 'GON', [start]);
  for (let k = 1; k <= 5; k++) {
    const name = monostable(kit, PNP9, `M${k}`, trigger, k * 22e-9, holds[k % 3]!);
    trigger = `${name}-P`;
  }
  outputs.push(nor(kit, { ...PNP9, rb: 22e3 }, 'BUSY', ['M1', 'M3']));
  outputs.push(nor(kit, { ...PNP9, rb: 22e3 }, 'LAST', ['M2', 'M4', 'M5-P']));
  outputs.push(follower(kit, 'PG35', 'LASTF', 'LAST', '-9V', '+4V5', 5600));
  kit.condition('rest', []);
  kit.condition('go', ['GO']);
  kit.condition('hold A', ['HA']);
  kit.condition('hold B', ['HB']);
  kit.condition('hold C', ['HC', 'GO']);
  kit.condition('hold all', ['HA', 'HB', 'HC']);
  return kit.finish('test', 'monostables, germanium', [...outputs, 'M5', 'M5-P']);
}

/** Two channels of a differential amplifier behind a pulse transformer, with slicers and a latch. */
function reader(): TrialBoard {
  const kit = new Kit('RDA', {
    summary: 'Differential read amplifier, two channels, silicon, with a latch',
    rails: [rail('+12V', 12), rail('-12V', -12), rail('+6V', 6), rail('-6V', -6)],
    pins: 'transistors',
  });
  const outputs: string[] = [];
  const strobe = logicInput(kit, SILICON, 'STB');
  // One bias line for the current sources of both channels.
  kit.r('0V', 'IB', 5600, 5);
  kit.d('DS10', 'IB', 'IBD');
  kit.r('IBD', '-12V', 1800, 5);
  for (const channel of ['X', 'Y']) {
    const n = (s: string) => `${channel}${s}`;
    // The head's pulse comes through the transformer; a calibrating level unbalances the pair at DC.
    kit.input(n('CAL'), -1.2, 1.2);
    kit.transformer([
      [n('HEAD'), '0V', 6],
      [n('T'), '0V', 15],
    ]);
    kit.r('+12V', n('HEAD'), 2200);
    kit.r(n('T'), n('B1'), 220, 5);
    kit.r(n('CAL'), n('B1'), 1000, 5);
    kit.r(n('B2'), '0V', 180, 5);
    for (const side of ['1', '2']) {
      kit.q('NS10', n(`E${side}`), n(`B${side}`), n(`C${side}`));
      kit.r('+12V', n(`C${side}`), 4300, 5);
      kit.r(n(`E${side}`), n('TL'), 560, 5);
    }
    kit.q('NS10', n('TE'), 'IB', n('TL'));
    kit.r(n('TE'), '-12V', 1300, 5);
    kit.r('+12V', n('F'), 1300, 5);
    for (const side of ['1', '2']) {
      kit.r(n('F'), n(`F${side}`), 390, 5);
      kit.q('PS10', n(`F${side}`), n(`C${side}`), n(`O${side}`));
      kit.r(n(`O${side}`), '-6V', 3300, 5);
      kit.d('DS10', '0V', n(`K${side}`));
      kit.r(n(`O${side}`), n(`K${side}`), 2200, 5);
      kit.q('NS10', '0V', n(`K${side}`), n(`S${side}`));
      kit.r('+12V', n(`S${side}`), 5600);
      kit.d('DS10', n(`S${side}`), '+6V');
      outputs.push(n(`S${side}`));
    }
  }
  nand(kit, SILICON, 'SET', ['XS1', strobe]);
  nand(kit, SILICON, 'RES', ['YS1', strobe]);
  latch(kit, SILICON, 'BIT', ['SET'], ['RES']);
  outputs.push('BIT-Q', 'BIT-N');
  const quiet = [
    { net: 'XCAL', volts: 0, ohms: 0 },
    { net: 'YCAL', volts: 0, ohms: 0 },
  ];
  const on = [0, 0.6] as const;
  const off = [6, 7.4] as const;
  const still = { XS1: off, XS2: off, YS1: off, YS2: off };
  kit.condition('quiet, one', ['BIT'], { drives: quiet, expected: still });
  kit.condition('quiet, zero', [], { drives: quiet, expected: still });
  kit.condition('minus', ['BIT'], { expected: { XS1: off, XS2: on, YS1: off, YS2: on } });
  kit.condition('X plus, strobed', ['XCAL', 'STB'], { expected: { XS1: on, XS2: off, YS1: off, YS2: on } });
  kit.condition('Y plus, strobed', ['YCAL', 'STB', 'BIT'], {
    expected: { XS1: off, XS2: on, YS1: on, YS2: off },
  });
  kit.condition('both plus', ['XCAL', 'YCAL'], { expected: { XS1: on, XS2: off, YS1: on, YS2: off } });
  return kit.finish('test', 'differential read amplifier', outputs);
}

/** Silicon regulators: series with current limit, tracking negative, and a shunt reference. */
function silicon(): TrialBoard {
  const kit = new Kit('PSU', {
    summary: 'Silicon regulators with differential error amplifiers and current limits',
    rails: [rail('+20V', 20, 10), rail('-20V', -20, 10)],
    pins: 'all',
  });
  kit.fuse('+20V', 'PIN', 2);
  kit.fuse('-20V', 'NIN', 2);
  kit.c('PIN', '0V', 1000e-6);
  kit.c('0V', 'NIN', 1000e-6);
  // Reference of 6.2 V from the regulated side, with a start resistor from the raw side.
  kit.z('ZS7', '0V', 'REF', 6.2);
  kit.r('P12', 'REF', 1500);
  kit.r('PIN', 'REF', 15e3);
  kit.c('REF', '0V', 10e-6);
  // Positive side.
  kit.q('NS10', 'PE', 'REF', 'PC1');
  kit.q('NS10', 'PE', 'PTAP', 'PX');
  kit.r('PE', '0V', 2200, 5);
  kit.r('PIN', 'PC1', 1000);
  kit.r('PIN', 'PX', 3300);
  kit.q('NS30', 'PD', 'PX', 'PIN');
  kit.r('PD', 'PS', 1000);
  kit.q('NS60', 'PS', 'PD', 'PIN');
  kit.r('PS', 'P12', 1, 5);
  kit.q('NS10', 'P12', 'PL', 'PX');
  kit.r('PS', 'PL', 100);
  kit.r('P12', 'PT1', 1800, 5);
  kit.trimmer('PT1', 'PT2', 'PTAP', 500, 0.5);
  kit.r('PT2', '0V', 2000, 5);
  kit.c('P12', '0V', 220e-6);
  kit.c('PX', '0V', 1e-9);
  // Negative side, its divider between the two outputs holds the middle at the reference net.
  kit.q('PS10', 'NE', '0V', 'NC1');
  kit.q('PS10', 'NE', 'NTAP', 'NX');
  kit.r('P12', 'NE', 3300, 5);
  kit.r('NC1', 'NIN', 1000);
  kit.r('NX', 'NIN', 3900);
  kit.q('PS30', 'ND', 'NX', 'NIN');
  kit.r('ND', 'NS', 1000);
  kit.q('PS30', 'NS', 'ND', 'NIN');
  kit.r('NS', 'N12', 1.5, 5);
  kit.q('PS10', 'N12', 'NL', 'NX');
  kit.r('NS', 'NL', 100);
  kit.r('P12', 'NTAP', 3900, 2);
  kit.r('NTAP', 'N12', 3900, 2);
  kit.c('0V', 'N12', 220e-6);
  // Five volts from a zener and a follower, and a lamp that tells of all three.
  kit.r('P12', 'ZV', 820);
  kit.z('ZS7', '0V', 'ZV', 5.6);
  kit.q('NS30', 'P5', 'ZV', 'P12');
  kit.r('P5', '0V', 1000);
  kit.c('P5', '0V', 47e-6);
  kit.r('N12', 'OKB', 12e3);
  kit.r('P5', 'OKB', 6800);
  kit.q('NS10', '0V', 'OKB', 'OKC');
  kit.r('P12', 'OKC', 3300);
  kit.r('OKC', 'LB', 1500);
  kit.r('LB', '0V', 10e3);
  kit.q('NS30', '0V', 'LB', 'LAMP');
  kit.lamp('P12', 'LAMP', 240);
  const near = (v: number, share = 0.1): [number, number] => [
    v - Math.abs(v) * share,
    v + Math.abs(v) * share,
  ];
  const expected = { P12: near(12), N12: near(-12), P5: near(4.9, 0.12), LAMP: [0, 0.8] as const };
  kit.condition('no load', [], { expected });
  kit.condition('positive load', [], { drives: [{ net: 'P12', volts: 0, ohms: 39 }], expected });
  kit.condition('negative load', [], { drives: [{ net: 'N12', volts: 0, ohms: 56 }], expected });
  kit.condition('all loaded', [], {
    drives: [
      { net: 'P12', volts: 0, ohms: 56 },
      { net: 'N12', volts: 0, ohms: 82 },
      { net: 'P5', volts: 0, ohms: 100 },
    ],
    expected,
  });
  return kit.finish('test', 'series regulators, silicon', ['P12', 'N12', 'P5', 'LAMP']);
}

/** Relay and lamp drivers behind silicon diode gates, with switches and a holding latch. */
function relays(): TrialBoard {
  const kit = new Kit('RLY', {
    summary: 'Relay drivers with coils and flyback diodes behind silicon diode gates',
    rails: [rail('+24V', 24, 10), rail('+12V', 12), rail('+6V', 6), rail('-6V', -6)],
    pins: 'half',
  });
  const inputs = ['START', 'STOP', 'DOOR'].map((name) => logicInput(kit, SILICON, name, 470));
  // The test switch pulls one input line to the reference when it is closed; it stands open.
  kit.switch('AUXL', '0V', false);
  kit.r('+6V', 'AUXL', 3300);
  const [start, stop, door] = inputs as [string, string, string];
  nand(kit, SILICON, 'STARTN', [start]);
  nand(kit, SILICON, 'STOPN', [stop]);
  latch(kit, SILICON, 'RUN', ['STARTN'], ['STOPN']);
  const g1 = nand(kit, SILICON, 'G1', ['RUN-Q', door]);
  const g2 = nand(kit, SILICON, 'G2', ['RUN-N', 'AUXL']);
  const coils: [string, string][] = [
    ['K1', g1],
    ['K2', 'RUN-Q'],
    ['K3', g2],
  ];
  const outputs: string[] = [];
  for (const [name, from] of coils) {
    const n = (s: string) => `${name}${s}`;
    kit.r(from, n('B1'), 5600);
    kit.r(n('B1'), '-6V', 68e3);
    kit.q('NS10', n('D'), n('B1'), '+12V');
    kit.r(n('D'), n('B2'), 820);
    kit.r(n('B2'), '0V', 1000);
    kit.q('NS30', '0V', n('B2'), n('C'));
    kit.l(n('M'), n('C'), 0.8);
    kit.r('+24V', n('M'), 390, 5);
    kit.d('DS40', n('C'), '+24V');
    kit.r(n('C'), n('I'), 2200);
    kit.lamp('+24V', n('I'), 600);
    outputs.push(n('C'));
    if (from === 'RUN-Q') continue;
    kit.logic(n('C'), [from], ([v]) => !v, [0, 0.6], [21, 26]);
  }
  kit.condition('stopped', []);
  kit.condition('running', ['RUN']);
  kit.condition('running, door', ['RUN', 'DOOR']);
  kit.condition('door', ['DOOR']);
  kit.condition('starting', ['START', 'RUN', 'DOOR']);
  kit.condition('stopping', ['STOP']);
  return kit.finish('test', 'relay drivers, silicon diode gates', [...outputs, 'RUN-Q', g1, g2]);
}

/** Digit drivers on a higher supply behind a diode matrix, with anode supply and blanking. */
function display(): TrialBoard {
  const kit = new Kit('DSP', {
    summary: 'Display drivers on +90 V behind a diode matrix, with blanking',
    rails: [rail('+90V', 90, 10), rail('+12V', 12), rail('-6V', -6)],
    pins: 'transistors',
  });
  const plain: Family = { ...SILICON, rc: 1200, rb: 10e3, rk: 47e3 };
  const { clamp: _, ...open } = plain;
  const bits = ['D1', 'D2', 'D4'].map((name) => kit.input(name, 0.15, 9, 1000));
  const complements = bits.map((bit) => nor(kit, open, `${bit}N`, [bit]));
  const straight = complements.map((bit, k) => nor(kit, open, `${bits[k]}T`, [bit]));
  const blank = kit.input('BLANK', 9, 0.15, 47);
  const outputs: string[] = [];
  for (let digit = 0; digit < 7; digit++) {
    const n = (s: string) => `N${digit}${s}`;
    kit.r('+12V', n('G'), 12e3);
    const lines = [0, 1, 2].map((k) => (digit & (1 << k) ? straight[k]! : complements[k]!));
    for (const line of [...lines, blank]) kit.d('DS10', n('G'), line);
    kit.r(n('G'), n('B'), 6800);
    kit.r(n('B'), '-6V', 68e3);
    kit.q('NS90', '0V', n('B'), n('K'));
    kit.r('+90V', n('K'), 82e3);
    kit.logic(n('K'), [...lines, blank], (v) => v.slice(0, 3).every(Boolean) && !v[3], [70, 95], [0, 0.6]);
    outputs.push(n('K'));
  }
  for (const digit of [0, 1, 2, 3, 4, 5, 6])
    kit.condition(
      `digit ${digit}`,
      bits.filter((__, k) => digit & (1 << k)),
    );
  kit.condition('blank', ['D1', 'BLANK']);
  return kit.finish('test', 'display drivers on a higher supply, diode matrix', outputs);
}

/** Four stages of an NPN germanium shift register, each steered by the one before. */
function shifter(): TrialBoard {
  const kit = new Kit('SHR', {
    summary: 'Shift register of NPN germanium pairs, steered by the stage before',
    rails: [rail('+9V', 9), rail('-4V5', -4.5)],
    pins: 'all',
  });
  const clock = logicInput(kit, NPN9, 'CLK');
  const data = logicInput(kit, NPN9, 'DATA', 1000);
  const clockN = nor(kit, { ...NPN9, rc: 1000 }, 'CKN', [clock]);
  follower(kit, 'NG35', 'CKF', clockN, '+9V', '-4V5', 3300);
  const dataN = nor(kit, NPN9, 'DN', [data]);
  let steer: [string, string] = [dataN, nor(kit, NPN9, 'DT', [dataN])];
  const names = ['SA', 'SB', 'SC', 'SD'];
  for (const name of names) {
    flipFlop(kit, NPN9, name, { clock: 'CKF', steer, loaded: 0.8 });
    steer = [`${name}-N`, `${name}-Q`];
  }
  const soft = { ...NPN9, rb: 27e3 };
  const outputs = [
    nor(kit, soft, 'EMPTY', ['SA-Q', 'SB-Q', 'SC-Q', 'SD-Q']),
    nor(kit, soft, 'EDGE', ['SA-Q', 'SB-N']),
    'SD-Q',
    'SD-N',
  ];
  for (const code of [0, 1, 3, 5, 6, 9, 10, 15])
    kit.condition(
      `word ${code}`,
      names.filter((_, k) => code & (1 << k)).concat(code & 1 ? ['CLK'] : [], code & 2 ? ['DATA'] : []),
    );
  return kit.finish('test', 'shift register, NPN germanium', outputs);
}

/** Five lines: follower chains of alternating polarity, a terminated line, an emitter-coupled receiver. */
function bus(): TrialBoard {
  const kit = new Kit('BUS', {
    summary: 'Line drivers of alternating followers, terminated lines, emitter-coupled receivers',
    rails: [rail('-12V', -12), rail('+12V', 12), rail('-6V', -6)],
    pins: 'half',
  });
  const outputs: string[] = [];
  const inputs: string[] = [];
  kit.r('-12V', 'VREF', 3300, 5);
  kit.r('VREF', '0V', 1000, 5);
  for (const name of ['W', 'X', 'Y', 'Z']) {
    const n = (s: string) => `${name}${s}`;
    const input = kit.input(n('I'), -0.2, -6.2, 1500);
    inputs.push(input);
    follower(kit, 'PG22', n('F1'), input, '-12V', '+12V', 10e3);
    follower(kit, 'NG21', n('F2'), n('F1'), '0V', '-12V', 4700);
    follower(kit, 'PG21', n('F3'), n('F2'), '-12V', '+12V', 5600);
    follower(kit, 'PG35', n('F4'), n('F3'), '-12V', '0V', 2200);
    kit.r(n('F4'), n('LINE'), 39);
    kit.r(n('LINE'), '0V', 330);
    kit.logic(n('LINE'), [input], ([v]) => v!, [-0.5, 0.4], [-6.2, -4]);
    kit.r(n('LINE'), n('RB'), 1000);
    kit.q('PG22', n('RE'), n('RB'), n('R1'));
    kit.q('PG22', n('RE'), 'VREF', n('R2'));
    kit.r('+12V', n('RE'), 3900);
    kit.r(n('R1'), '-12V', 2700);
    kit.r(n('R2'), '-12V', 2700);
    kit.d('DG20', '-6V', n('R1'));
    kit.d('DG20', '-6V', n('R2'));
    follower(kit, 'NG21', n('OUT'), n('R1'), '0V', '-12V', 6800);
    kit.logic(n('R2'), [n('LINE')], ([v]) => v!, [-4.6, -1.8], [-7.2, -5.5]);
    outputs.push(n('OUT'), n('R2'), n('LINE'));
  }
  // A line that any of the four pulls down through a diode.
  for (const name of ['W', 'X', 'Y', 'Z']) kit.d('DG20', 'ANY', `${name}LINE`);
  kit.r('ANY', '+12V', 12e3);
  follower(kit, 'PG21', 'ANYF', 'ANY', '-12V', '+12V', 8200);
  outputs.push('ANYF');
  kit.condition('idle', []);
  kit.condition('W', ['WI']);
  kit.condition('X Z', ['XI', 'ZI']);
  kit.condition('Y', ['YI']);
  kit.condition('W X Y', ['WI', 'XI', 'YI']);
  kit.condition('all', inputs);
  return kit.finish('test', 'follower chains and line receivers', outputs);
}

/** Current-switching gates: emitter-coupled PNP pairs with zener-shifted followers, and a latch of two. */
function coupled(): TrialBoard {
  const kit = new Kit('CML', {
    summary: 'Emitter-coupled current-switching gates with zener-shifted followers',
    rails: [rail('+12V', 12), rail('-6V', -6)],
    pins: 'transistors',
  });
  const high = 1.2;
  const low = -0.9;
  const whenTrue = [0.5, 2.2] as const;
  const whenFalse = [-1.6, -0.15] as const;
  kit.r('+12V', 'REF', 12e3, 5);
  kit.r('REF', '0V', 82, 5);
  const shift = (node: string, out: string) => {
    kit.q('PG22', `${out}E`, node, '-6V');
    kit.z('ZS5', `${out}E`, out, 5.1);
    kit.r('+12V', out, 4700);
  };
  /** `name` is true when all inputs are, `name`N is its complement. */
  const gate = (name: string, inputs: readonly string[], plain = true): void => {
    const n = (s: string) => `${name}-${s}`;
    kit.r('+12V', n('T'), 2700, 5);
    for (const input of inputs) kit.q('PG21', n('T'), input, n('A'));
    kit.q('PG21', n('T'), 'REF', n('R'));
    kit.r(n('A'), '-6V', 470, 5);
    kit.r(n('R'), '-6V', 470, 5);
    shift(n('A'), `${name}N`);
    shift(n('R'), name);
    if (!plain) return;
    kit.logic(`${name}N`, inputs, (v) => !v.every(Boolean), whenFalse, whenTrue);
    kit.logic(name, inputs, (v) => v.every(Boolean), whenFalse, whenTrue);
  };
  const inputs = ['A', 'B', 'C', 'SET', 'RES'].map((name) => kit.input(name, low, high, 100));
  const [a, b, c] = inputs as [string, string, string];
  gate('GA', [a, b]);
  gate('GB', ['GAN', c]);
  gate('GC', ['GA', 'GB']);
  gate('LQ', ['LPN', 'SET'], false);
  gate('LP', ['LQN', 'RES'], false);
  kit.state('L', [
    { net: 'LQN', whenFalse: low, whenTrue: high },
    { net: 'LPN', whenFalse: high, whenTrue: low },
  ]);
  gate('GD', ['GCN', 'LQ']);
  kit.condition('abc 000, off', ['SET', 'RES']);
  kit.condition('abc 110, off', [a, b, 'SET', 'RES']);
  kit.condition('abc 001, on', [c, 'SET', 'RES', 'L']);
  kit.condition('abc 111, on', [a, b, c, 'SET', 'RES', 'L']);
  kit.condition('abc 010, on', [b, 'SET', 'RES', 'L']);
  kit.condition('setting', [a, 'RES', 'L']);
  kit.condition('resetting', [a, c, 'SET']);
  return kit.finish('test', 'emitter-coupled current-switching logic', [
    'GC',
    'GCN',
    'GD',
    'GDN',
    'LQ',
    'LP',
  ]);
}

export const FRESH: Readonly<Record<string, () => TrialBoard>> = {
  DLY: delays,
  RDA: reader,
  PSU: silicon,
  RLY: relays,
  DSP: display,
  SHR: shifter,
  BUS: bus,
  CML: coupled,
};
