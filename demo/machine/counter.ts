import { Sheet } from './sheet.ts';
import { addDecoupling, addFlipFlop, addInverter, addLampDriver, addNand, addSwitch } from './stages.ts';

const LOAD = 2200;

/** CTR: the decade in 8-4-2-1, its lamps, the detector of nine and the tens register. */
export function counterBoard(): Sheet {
  const sheet = new Sheet('CTR');

  addStage(sheet, 'BIT1', 'CNT');
  // After nine BIT2 must not follow BIT1, and BIT8 must come down with it.
  addStage(sheet, 'BIT2', 'BIT1', ['BIT8']);
  addStage(sheet, 'BIT4', 'BIT2');
  addStage(sheet, 'BIT8', 'BIT1', ['BIT2N', 'BIT4N']);

  sheet.beginStage('lamps');
  for (const weight of [1, 2, 4, 8]) addLampDriver(sheet, `BIT${weight}`, `lamp ${weight}`);
  for (const weight of [1, 2, 4, 8]) {
    sheet.beginStage(`bit ${weight}`);
    sheet.addDiode('QWD5', 'CLR', `BIT${weight}`, 'clear');
  }

  sheet.beginStage('nine');
  addNand(sheet, ['BIT1', 'BIT8'], 'NINEN');
  addInverter(sheet, 'NINEN', 'NINE', { load: LOAD });
  sheet.beginStage('tens register');
  addSwitch(sheet, 'NINE', 'TENS', {
    type: 'QWP14',
    series: 2200,
    bias: 33_000,
    note: 'tens register driver',
  });
  sheet.addDiode('QWD8', '-24F', 'TENS', 'across the coil');
  sheet.add('other', { 1: 'TENS', 2: '-24F' }, { note: 'tens register, electromechanical, coil 300 ohms' });

  sheet.beginStage();
  addDecoupling(sheet);
  sheet.addConnector(
    ['0V', '-12V', '-6V', '+6V', '-24F', 'CNT', 'CLR', 'BIT1', 'BIT2', 'BIT4', 'BIT8', 'NINE'],
    'edge of the counter board',
  );
  return sheet;
}

function addStage(sheet: Sheet, bit: string, clock: string, setBlockedBy: readonly string[] = []): void {
  sheet.beginStage(bit.replace('BIT', 'bit '));
  addFlipFlop(sheet, {
    output: bit,
    complement: `${bit}N`,
    setBy: clock,
    resetBy: clock,
    setFrom: bit,
    resetFrom: `${bit}N`,
    setBlockedBy,
    load: LOAD,
  });
}
