import { Sheet } from './sheet.ts';
import {
  addAndGate,
  addDecoupling,
  addFlipFlop,
  addFollower,
  addInverter,
  addNand,
  addSwitch,
} from './stages.ts';

/** Bits of a digit, least first, and the two bit-time flip-flops' outputs that select each. */
const BIT_TIMES: readonly (readonly [string, readonly string[]])[] = [
  ['T1', ['K1N', 'K2N']],
  ['T2', ['K1', 'K2N']],
  ['T4', ['K1N', 'K2']],
  ['T8', ['K1', 'K2']],
];

/** CLK: oscillator with stop and hand step, two phases, the bit times of a digit, the clear bus. */
export function clockBoard(): Sheet {
  const sheet = new Sheet('CLK');

  sheet.beginStage('oscillator');
  // Free-running pair, some 300 c/s. A key that grounds STOP or STEP takes the base current away from one half.
  addTimedHalf(sheet, 'OSCN', 'STOP');
  addTimedHalf(sheet, 'OSC', 'STEP');
  sheet.addCapacitor(0.1e-6, 'CLK.Q1.b', 'OSC');
  sheet.addCapacitor(0.1e-6, 'CLK.Q2.b', 'OSCN');
  sheet.addCapacitor(4.7e-6, '0V', 'STEP', 'key bounce');
  addFollower(sheet, 'OSC', 'CK');

  sheet.beginStage('phases');
  addFlipFlop(sheet, {
    output: 'PH',
    complement: 'PHN',
    setBy: 'CK',
    resetBy: 'CK',
    setFrom: 'PH',
    resetFrom: 'PHN',
  });
  addPhase(sheet, ['CK', 'PH'], 'P1N', 'P1');
  addPhase(sheet, ['CK', 'PHN'], 'P2N', 'P2');

  sheet.beginStage('bit counter');
  addFlipFlop(sheet, {
    output: 'K1',
    complement: 'K1N',
    setBy: 'P1',
    resetBy: 'P1',
    setFrom: 'K1',
    resetFrom: 'K1N',
  });
  addFlipFlop(sheet, {
    output: 'K2',
    complement: 'K2N',
    setBy: 'K1',
    resetBy: 'K1',
    setFrom: 'K2',
    resetFrom: 'K2N',
  });
  sheet.beginStage('bit times');
  for (const [time, inputs] of BIT_TIMES) {
    const node = `CLK.${time}.and`;
    addAndGate(sheet, inputs, node);
    addFollower(sheet, node, time);
  }

  sheet.beginStage('clear bus');
  // The clear key grounds CLRKEY: first stage off, second on, the bus at space pulls the set sides up through diodes.
  sheet.addResistor(3300, 'CLRKEY', '-12V');
  sheet.addCapacitor(1e-6, '0V', 'CLRKEY', 'key bounce');
  addSwitch(sheet, 'CLRKEY', 'CLRN', { series: 3300, bias: 22_000 });
  sheet.addResistor(1500, 'CLRN', '-12V');
  addSwitch(sheet, 'CLRN', 'CLR', { type: 'QWP14', series: 1500, bias: 10_000 });
  sheet.addResistor(3300, 'CLR', '-12V');
  sheet.beginStage('bit counter');
  for (const net of ['K1', 'K2']) sheet.addDiode('QWD5', 'CLR', net, 'clear');

  sheet.beginStage();
  addDecoupling(sheet);
  sheet.addConnector(
    ['0V', '-12V', '-6V', '+6V', 'STOP', 'STEP', 'CLRKEY', 'CK', 'P1', 'P2', 'T1', 'T2', 'T4', 'T8', 'CLR'],
    'edge of the clock board',
  );
  return sheet;
}

/** One half of the oscillator: its base is fed from `key`, which a resistor pulls to -12 V. */
function addTimedHalf(sheet: Sheet, output: string, key: string): void {
  addInverter(sheet, key, output, { series: 33_000, bias: 150_000 });
  sheet.addResistor(2200, key, '-12V');
}

/** Gate of one phase and its line driver. */
function addPhase(sheet: Sheet, inputs: readonly string[], inverse: string, phase: string): void {
  addNand(sheet, inputs, inverse);
  addInverter(sheet, inverse, phase, { series: 3300, load: 1000, note: `${phase} line driver` });
}
