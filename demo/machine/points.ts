import type { Part, Point } from '../../src/machine/index.ts';

const SOCKET = 1;
const EXTENDER = 2.5;
const UNSOLDER = 10;

/** Where a probe must not go without thought, and why. */
const CAUTIONS: Readonly<Record<string, string>> = {
  '-80V':
    'CAUTION: 80 V and behind a 100 mA fuse; one hand, clip on with the supply off; the panel wiring beside it carries the mains',
  LINE: 'CAUTION: up to 80 V with the contact open, more in a thunderstorm; take the line off at the terminals first in bad weather',
  'LNE.FS1': 'CAUTION: 80 V against the frame',
  'LNE.T1.1a': 'CAUTION: 80 V against the frame with the contact open',
  '-24V':
    'CAUTION: rectifier side, beside the mains terminals; the reservoir gives several amperes into a slipped probe',
  'PWR.S1': 'CAUTION: switch tag beside the mains switch; qualified people only',
  'PWR.FS1': 'CAUTION: unregulated, before the choke; a slipped probe blows FS1',
  '-24F': 'CAUTION: 1000 uF stays charged after switch-off; wait or discharge through 100 ohms',
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
 * The points of the machine: every net but the reference at its socket (1 minute) or on an extended board (2.5), every
 * transistor pin on an extended board, and a few that must be unsoldered (10).
 */
export function points(reference: string, parts: readonly Part[]): readonly Point[] {
  const nets = new Set(parts.flatMap((part) => part.pins.map((p) => p.net)));
  nets.delete(reference);
  const netPoints = [...nets].map((net) => ({
    point: net,
    minutes: SOCKETS.has(net) ? SOCKET : EXTENDER,
    note: CAUTIONS[net] ?? '',
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
  ];
}
