import type { FlowStage, Part, Point } from '../../src/machine/index.ts';

const SOCKET = 1;
const EXTENDER = 2.5;
const UNSOLDER = 10;

/** Where a probe must not go without thought, and why; what is true of the whole board is said there. */
const CAUTIONS: Readonly<Record<string, string>> = {
  '-80V':
    '80 V, high voltage behind a 100 mA fuse, and the mains in the panel wiring beside it: only if you are qualified for it; one hand, clip on with the supply off and discharged',
  LINE: 'high voltage, up to 80 V with the contact open and more in a thunderstorm: one hand; take the line off at the terminals first in bad weather',
  'LNE.FS1': '80 V against the frame',
  'LNE.T1.1a': '80 V against the frame with the contact open',
  'LNE/T1.2a': 'the tag beside it is winding 1, at 80 V: supply off and discharged before the iron',
  '-24V':
    'rectifier side, beside the mains terminals: only if you are qualified for it; the reservoir gives several amperes into a slipped probe',
  '+12V': 'rectifier side, beside the mains terminals: only if you are qualified for it; one hand',
  'PWR.S1': 'switch tag beside the mains switch',
  'PWR.FS1': 'unregulated, before the choke: a slipped probe blows FS1',
  '-24F': '1000 uF stays charged after switch-off: wait, or discharge through 100 ohms, and measure',
};

/** Nets with a socket on the front edge of their board or on the panel. */
const SOCKETS: ReadonlySet<string> = new Set(
  [
    '-24V +12V -80V -24F -12V -6V +6V VREF READY',
    'CK PH PHN P1 P2 K1 K2 T1 T2 T4 T8 CLR',
    'CNT BIT1 BIT1N BIT2 BIT2N BIT4 BIT4N BIT8 BIT8N NINE',
    'A B SUM SUMN CARRY CARRYN HELD HELDN OUT',
    'LINE READ SLICE PULSEN PULSE TEST',
  ].flatMap((line) => line.split(' ')),
);

/** Pins that only come free with the iron: under the heat sink, or one end lifted inside a screening can. */
const UNDER_THE_IRON: ReadonlySet<string> = new Set([
  'PWR/Q1.b',
  'PWR/Q1.e',
  'PWR/Q1.c',
  'PWR/Q7.b',
  'LNE/T1.2a',
  'LNE/Q1.b',
]);

/**
 * The points of the machine along the flow of the signal: every net but the reference at its socket (1 minute) or on an extended board (2.5), every
 * transistor pin on an extended board, and a few that must be unsoldered (10).
 */
export function points(
  reference: string,
  parts: readonly Part[],
  flow: readonly FlowStage[],
): readonly Point[] {
  const nets = new Set([
    ...flow.flatMap(({ outputs }) => outputs),
    ...parts.flatMap((part) => part.pins.map((p) => p.net)),
  ]);
  nets.delete(reference);
  const netPoints = [...nets].map((net) => ({
    point: net,
    minutes: SOCKETS.has(net) ? SOCKET : EXTENDER,
    note: '',
  }));
  const pinPoints = parts
    .filter((part) => part.kind === 'transistor')
    .flatMap((part) => part.pins.map((p) => `${part.name}.${p.pin}`));
  const ironPoints = [...UNDER_THE_IRON].filter((point) => !pinPoints.includes(point));
  return [
    ...netPoints,
    ...[...pinPoints, ...ironPoints].map((point) =>
      UNDER_THE_IRON.has(point)
        ? { point, minutes: UNSOLDER, note: 'only with the iron: pads lift, little heat' }
        : { point, minutes: EXTENDER, note: '' },
    ),
  ].map((one) => {
    const caution = CAUTIONS[one.point];
    return caution === undefined ? one : { ...one, caution };
  });
}
