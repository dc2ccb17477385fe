import type { Board } from '../../src/machine/index.ts';

/** What to know of each board before it is touched. */
export const BOARDS: readonly Board[] = [
  {
    name: 'PWR',
    caution:
      'the mains transformer and switch stand beside this board: only if you are qualified for it, mains plug out where you can, one hand; reservoirs of 1000 and 470 uF stay charged, discharge them through 100 ohms and measure',
    note: 'the pass transistor is on the heat sink and runs hot; set -12 V with RV1 only when the boards are in',
  },
  { name: 'CLK', caution: '', note: 'keys and the STOP switch come in by the edge; no key works without it' },
  {
    name: 'CTR',
    caution: '',
    note: 'lamps and the tens register hang on the raw supply, fused by FS1 on PWR',
  },
  {
    name: 'ADD',
    caution: '',
    note: 'the two-layer diode boards crack at the rivets: no force on the extender',
  },
  {
    name: 'LNE',
    caution:
      'fuse, R1 and the line winding of T1 carry 80 V, high voltage on a live line: only if you are qualified for it, one hand, line off at the terminals in bad weather',
    note: 'RV1 and RV2 were sealed with lacquer by the maker; mark their place before turning',
  },
];
