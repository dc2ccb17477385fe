import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/**
 * A small invented machine for the tests of the commands: two inverters in a row on a tally board, a healthy unit and one whose
 * second transistor has its collector-emitter path shorted.
 */
export const TALLY: Readonly<Record<string, string>> = {
  'machine.json': `${JSON.stringify({
    format: 1,
    name: 'Ferry tally',
    summary: 'Counts passengers. Invented.',
    reference: '0V',
    ambient: 20,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
      { net: '+90V', volts: 90, tolerance: 10 },
    ],
    units: [
      { id: 'bow', health: 'healthy' },
      { id: 'stern', health: 'faulty' },
    ],
  })}\n`,
  'parts.csv': `board,ref,kind,type,value,pins
TLY,Q1,transistor,GE-PNP,,e=0V b=B1 c=MID
TLY,R1,resistor,,2.2k,1=-12V 2=MID
TLY,R2,resistor,,15k,1=IN 2=B1
TLY,R3,resistor,,100k,1=B1 2=+6V
TLY,Q2,transistor,GE-PNP,,e=0V b=B2 c=OUT
TLY,R4,resistor,,2.2k,1=-12V 2=OUT
TLY,R5,resistor,,15k,1=MID 2=B2
TLY,R6,resistor,,100k,1=B2 2=+6V
TLY,R7,resistor,,1M,1=+90V 2=0V
`,
  'conditions.csv': 'condition,net,role,volts,ohms\nheld,IN,drive,-6,100\nfree,IN,drive,0,100\n',
  'points.csv': `point,minutes,note
IN,1,
MID,1,
OUT,1,
-12V,1,CAUTION: beside the mains switch
+6V,1,
B1,2.5,
B2,2.5,
TLY/Q2.c,2.5,
TLY/Q2.b,2.5,
`,
  'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at
bow,held,MID,V,-0.09,,2023-05-04
bow,held,OUT,V,-11.9,,2023-05-04
bow,free,MID,V,-10.4,,2023-05-04
bow,free,OUT,V,-0.08,,2023-05-04
stern,held,IN,V,-5.96,,2023-05-05
stern,held,MID,V,-0.09,,2023-05-05
stern,held,OUT,V,-0.01,,2023-05-05
stern,free,OUT,V,-0.01,,2023-05-05
`,
};

/** Writes the folder, with files of it changed or left out (`undefined`). */
export function writeTally(
  folder: string,
  changes: Readonly<Record<string, string | undefined>> = {},
): string {
  mkdirSync(folder, { recursive: true });
  for (const [name, text] of Object.entries({ ...TALLY, ...changes })) {
    if (text !== undefined) writeFileSync(join(folder, name), text);
  }
  return folder;
}
