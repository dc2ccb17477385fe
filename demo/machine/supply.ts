import { Sheet } from './sheet.ts';
import { addSwitch } from './stages.ts';

/** PWR: -12 V by series regulator with current limit, +6 V and the -6 V clamp rail by followers, the READY lamp. */
export function supplyBoard(): Sheet {
  const sheet = new Sheet('PWR');

  sheet.beginStage('raw side');
  sheet.add('switch', { 1: '-24V', 2: 'PWR.S1' }, { closed: true, note: 'supply on, front panel' });
  sheet.add('fuse', { 1: 'PWR.S1', 2: 'PWR.FS1' }, { value: 1, note: '1 A' });
  sheet.add('inductor', { 1: 'PWR.FS1', 2: '-24F' }, { value: 0.05, note: 'smoothing choke' });
  sheet.addCapacitor(1000e-6, '0V', '-24F', 'reservoir');

  sheet.beginStage('regulator');
  sheet.addTransistor('QWQ31', 'PWR.Q1.e', 'PWR.Q1.b', '-24F', 'pass transistor, on the heat sink');
  sheet.addTransistor('QWP14', 'PWR.Q1.b', 'PWR.Q2.b', '-24F', 'driver');
  sheet.addResistor(3300, 'PWR.Q2.b', '-24F');
  sheet.addResistor(220, 'PWR.Q1.b', '-12V');
  sheet.addResistor(0.47, 'PWR.Q1.e', '-12V', { tolerance: 5, note: 'current sense, wire wound' });
  sheet.addTransistor('QWP12', 'VREF', 'PWR.Q3.b', 'PWR.Q2.b', 'error amplifier');
  sheet.addZener('QWZ62', 6.2, 'VREF', '0V', 'reference');
  sheet.addResistor(1000, 'VREF', '-12V');
  sheet.addResistor(4700, '0V', 'PWR.RV1.1', { tolerance: 5 });
  sheet.add(
    'trimmer',
    { 1: 'PWR.RV1.1', w: 'PWR.Q3.b', 2: 'PWR.RV1.2' },
    { value: 1000, setting: 0.52, note: 'sets -12 V' },
  );
  sheet.addResistor(3900, 'PWR.RV1.2', '-12V', { tolerance: 5 });
  sheet.addTransistor('QWP12', '-12V', 'PWR.Q1.e', 'PWR.Q2.b', 'current limit');
  sheet.addCapacitor(470e-6, '0V', '-12V');

  sheet.beginStage('+6 V');
  sheet.add('fuse', { 1: '+12V', 2: 'PWR.FS2' }, { value: 0.25, note: '250 mA' });
  sheet.addTransistor('QWN21', '+6V', 'PWR.Q5.b', 'PWR.FS2', '+6 V follower');
  sheet.addResistor(680, 'PWR.FS2', 'PWR.Q5.b');
  sheet.addZener('QWZ62', 6.2, '0V', 'PWR.Q5.b');
  sheet.addCapacitor(100e-6, '+6V', '0V');

  sheet.beginStage('clamp rail');
  sheet.addResistor(2400, '0V', 'PWR.Q6.b', { tolerance: 5 });
  sheet.addResistor(2700, 'PWR.Q6.b', '-12V', { tolerance: 5 });
  sheet.addTransistor('QWN21', 'PWR.Q6.e', 'PWR.Q6.b', '0V', 'clamp rail, driver');
  sheet.addTransistor('QWN21', '-6V', 'PWR.Q6.e', '0V', 'clamp rail, in a clip');
  sheet.addResistor(2200, 'PWR.Q6.e', '-6V');
  sheet.addResistor(470, '-6V', '-12V');
  sheet.addCapacitor(100e-6, '0V', '-6V');

  sheet.beginStage('ready lamp');
  // READY lights only when the regulated rail is beyond about 9.5 V.
  addSwitch(sheet, 'PWR.Z3.k', 'READY', {
    type: 'QWP14',
    series: 1000,
    bias: 10_000,
    note: 'READY lamp driver',
  });
  sheet.addZener('QWZ91', 9.1, '-12V', 'PWR.Z3.k', 'rail watch');
  sheet.add('lamp', { 1: 'READY', 2: '-24F' }, { value: 1200, note: 'READY' });

  sheet.beginStage();
  sheet.addConnector(
    ['0V', '-24V', '+12V', '-24F', '-12V', '-6V', '+6V', 'READY'],
    'edge of the supply board',
  );
  return sheet;
}
