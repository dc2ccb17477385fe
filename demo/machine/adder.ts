import { Sheet } from './sheet.ts';
import { addAndOrInvert, addDecoupling, addFlipFlop, addInverter } from './stages.ts';

const WEIGHTS = [1, 2, 4, 8];

/** ADD: reads counter and datum switches out bit by bit, adds them with the held carry and sends the sum bit out. */
export function adderBoard(): Sheet {
  const sheet = new Sheet('ADD');

  sheet.beginStage('bit A');
  addAndOrInvert(
    sheet,
    WEIGHTS.map((w) => [`BIT${w}`, `T${w}`]),
    'AN',
  );
  addInverter(sheet, 'AN', 'A');
  sheet.beginStage('bit B');
  // A datum switch grounds its line for a 0 and leaves it open for a 1.
  for (const w of WEIGHTS) sheet.addResistor(22_000, `DAT${w}`, '-12V');
  addAndOrInvert(
    sheet,
    WEIGHTS.map((w) => [`DAT${w}`, `T${w}`]),
    'BN',
  );
  addInverter(sheet, 'BN', 'B');

  sheet.beginStage('sum');
  addAndOrInvert(
    sheet,
    [
      ['A', 'BN', 'HELDN'],
      ['AN', 'B', 'HELDN'],
      ['AN', 'BN', 'HELD'],
      ['A', 'B', 'HELD'],
    ],
    'SUMN',
  );
  addInverter(sheet, 'SUMN', 'SUM');
  sheet.beginStage('carry');
  addAndOrInvert(
    sheet,
    [
      ['A', 'B'],
      ['A', 'HELD'],
      ['B', 'HELD'],
    ],
    'CARRYN',
  );
  addInverter(sheet, 'CARRYN', 'CARRY');

  sheet.beginStage('held carry');
  addFlipFlop(sheet, {
    output: 'HELD',
    complement: 'HELDN',
    setBy: 'P2',
    resetBy: 'P2',
    setFrom: 'CARRYN',
    resetFrom: 'CARRY',
  });
  sheet.addDiode('QWD5', 'CLR', 'HELD', 'clear');

  sheet.beginStage('recorder line');
  // Complementary followers to the recorder's cable; the recorder's input is the load to 0 V.
  sheet.addResistor(1000, 'SUM', 'ADD.OUT.b');
  sheet.addTransistor('QWN21', 'OUT', 'ADD.OUT.b', '+6V', 'recorder line, upper half');
  sheet.addTransistor('QWP14', 'OUT', 'ADD.OUT.b', '-12V', 'recorder line, lower half');
  sheet.addResistor(3300, 'OUT', '0V');

  sheet.beginStage();
  addDecoupling(sheet);
  sheet.addConnector(
    [
      ...['0V', '-12V', '-6V', '+6V', 'P2', 'T1', 'T2', 'T4', 'T8', 'CLR', 'BIT1', 'BIT2', 'BIT4', 'BIT8'],
      ...['DAT1', 'DAT2', 'DAT4', 'DAT8', 'SUM', 'HELD', 'OUT'],
    ],
    'edge of the adder board',
  );
  return sheet;
}
