import { Sheet } from './sheet.ts';
import { addDecoupling, addFlipFlop, addInverter, addLampDriver, addNand, addSwitch } from './stages.ts';

const LOAD = 2200;

/** CTR: the decade in 8-4-2-1, its lamps, the detector of nine and the tens register. */
export function counterBoard(): Sheet {
  const sheet = new Sheet('CTR');

  addStage(sheet, 'BIT1', 'CNT');
  // After nine BIT2 must not follow BIT1, and BIT8 must come down with it. The detector of nine tells it, not BIT8 itself, which
  // the trigger would hold up through the diode when it is to go to mark at eight.
  addStage(sheet, 'BIT2', 'BIT1', ['NINE']);
  addStage(sheet, 'BIT4', 'BIT2');
  // Its way is closed by BIT2 going over on the same edge: the trigger must have done its work by then.
  addStage(sheet, 'BIT8', 'BIT1', ['BIT2N', 'BIT4N'], 2.2e-9);

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

function addStage(
  sheet: Sheet,
  bit: string,
  clock: string,
  setBlockedBy: readonly string[] = [],
  setFarads?: number,
): void {
  sheet.beginStage(bit.replace('BIT', 'bit '));
  addFlipFlop(sheet, {
    output: bit,
    complement: `${bit}N`,
    setBy: clock,
    resetBy: clock,
    setFrom: bit,
    resetFrom: `${bit}N`,
    setBlockedBy,
    ...(setFarads === undefined ? {} : { setFarads }),
    load: LOAD,
  });
}
