import { Sheet } from './sheet.ts';
import { addAndGate, addFollower, addInverter } from './stages.ts';

/** LNE: feeds the line to the float gauge, amplifies its pulses, slices them back to square, lets them through to the counter. */
export function lineBoard(): Sheet {
  const sheet = new Sheet('LNE');

  sheet.beginStage('line feed');
  sheet.add('fuse', { 1: '-80V', 2: 'LNE.FS1' }, { value: 0.1, note: '100 mA' });
  sheet.addResistor(3900, 'LNE.FS1', 'LNE.T1.1a', { note: '3 W' });
  sheet.add(
    'transformer',
    { '1a': 'LNE.T1.1a', '1b': 'LINE', '2a': 'LNE.T1.2a', '2b': '0V' },
    { windings: [180, 45], tolerance: 10, note: 'line transformer' },
  );
  sheet.addResistor(220_000, 'LINE', '0V', { note: 'bleeder' });

  sheet.beginStage('amplifier');
  sheet.addResistor(330, 'LNE.V', '-12V');
  sheet.addCapacitor(100e-6, '0V', 'LNE.V');
  sheet.addCapacitor(2.2e-6, 'LNE.T1.2a', 'LNE.Q1.b');
  addAmplifier(sheet, 'LNE.Q1.b', 'LNE.Q1.e', 'LNE.Q1.c', 'first stage');
  sheet.addResistor(1000, 'LNE.Q1.e', '0V');
  sheet.addCapacitor(47e-6, '0V', 'LNE.Q1.e');
  sheet.addCapacitor(2.2e-6, 'LNE.Q2.b', 'LNE.Q1.c');
  addAmplifier(sheet, 'LNE.Q2.b', 'LNE.Q2.e', 'LNE.Q2.c', 'second stage');
  sheet.add(
    'trimmer',
    { 1: 'LNE.Q2.e', w: 'LNE.RV1.w', 2: 'LNE.RV1.2' },
    { value: 500, setting: 0.3, note: 'gain' },
  );
  sheet.addResistor(560, 'LNE.RV1.2', '0V');
  sheet.addCapacitor(47e-6, '0V', 'LNE.RV1.w');
  sheet.addTransistor('QWP12', 'READ', 'LNE.Q2.c', '-12V', 'read follower');
  sheet.addResistor(2200, 'READ', '0V');

  sheet.beginStage('slicing level');
  sheet.addCapacitor(2.2e-6, 'SLICE', 'READ');
  sheet.add(
    'trimmer',
    { 1: '0V', w: 'LNE.RV2.w', 2: 'LNE.RV2.2' },
    { value: 5000, setting: 0.4, note: 'slicing level' },
  );
  sheet.addResistor(10_000, 'LNE.RV2.2', '-12V', { tolerance: 5 });
  sheet.addResistor(22_000, 'LNE.RV2.w', 'SLICE');
  sheet.addResistor(10_000, 'TEST', 'SLICE');

  sheet.beginStage('level detector');
  // Level detector with a common emitter resistor: the second half conducts at rest.
  sheet.addTransistor('QWP12', 'LNE.Q4.e', 'SLICE', 'LNE.Q4.c', 'level detector, first half');
  sheet.addResistor(3300, 'LNE.Q4.c', '-12V');
  sheet.addResistor(470, 'LNE.Q4.e', '0V');
  sheet.addResistor(6800, 'LNE.Q4.c', 'LNE.Q5.b');
  sheet.addResistor(10_000, 'LNE.Q5.b', '0V');
  sheet.addTransistor('QWP12', 'LNE.Q4.e', 'LNE.Q5.b', 'LNE.Q5.c', 'level detector, second half');
  sheet.addResistor(2200, 'LNE.Q5.c', '-12V');
  // Its levels are -2.2 and -9 V: the stronger bias shifts them to those of the logic.
  addInverter(sheet, 'LNE.Q5.c', 'PULSEN', { series: 6800, bias: 10_000 });
  addInverter(sheet, 'PULSEN', 'PULSE');
  sheet.beginStage('hold gate');
  addAndGate(sheet, ['PULSE', 'HOLD'], 'LNE.CNT.and');
  sheet.addResistor(22_000, 'HOLD', '-12V');
  addFollower(sheet, 'LNE.CNT.and', 'CNT');

  sheet.beginStage();
  sheet.addConnector(
    ['0V', '-12V', '-6V', '+6V', '-80V', 'LINE', 'TEST', 'HOLD', 'READ', 'PULSE', 'CNT'],
    'edge of the line board',
  );
  return sheet;
}

/** Common-emitter stage biased by a divider from the decoupled rail; the emitter resistors are the caller's. */
function addAmplifier(sheet: Sheet, base: string, emitter: string, collector: string, note: string): void {
  sheet.addResistor(56_000, base, 'LNE.V', { tolerance: 5 });
  sheet.addResistor(12_000, base, '0V', { tolerance: 5 });
  sheet.addTransistor('QWP12', emitter, base, collector, note);
  sheet.addResistor(3300, collector, 'LNE.V');
}
