/** For tests: a small sound folder, and folders with some of its files changed. */
import { type MachineDocument, readMachine } from './document.ts';

/** An inverter with a diode gate before it, two units, one reading of each. */
export const SOUND: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'lamp counter',
    summary: 'for tests',
    reference: '0V',
    ambient: 21,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
    instruments: [{ id: 'meter A', ohms: 1e7, gain: 0.5, random: 0.3, volts: 0.005 }],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins,note
ADD,D1,diode,GE-DIODE,,,a=OR k=IN1,
ADD,D2,diode,1N34A,,,a=OR k=IN2,
ADD,R1,resistor,,10k,,1=-12V 2=OR,
ADD,R2,resistor,,4K7,5,1=OR 2=BASE,
ADD,R3,resistor,,47k,,1=+6V 2=BASE,"bias, off"
ADD,Q1,transistor,2N1305,,,e=0V b=BASE c=OUT,
ADD,R4,resistor,,2.2k,,1=-12V 2=OUT,
ADD,C1,capacitor,,330p,,1=OR 2=BASE,
`,
  'conditions.csv': `condition,net,role,volts,ohms
low,IN1,drive,-6,1k
low,IN2,drive,-6,
high,IN1,drive,0,
high,IN2,drive,-6,
high,OUT,hint,-11.5,
`,
  'readings.csv': `unit,condition,point,quantity,value,uncertainty,taken_at,ambient,instrument,note
east,low,OUT,V,-0.12,,1968-05-14,21,meter A,
west,high,ADD/Q1.c,V,-11.8,0.05,1968-05-14T09:30,,,
`,
};

/** Reads the sound folder with some files replaced, or taken away by `undefined`. */
export function folder(
  changes: Readonly<Record<string, string | Uint8Array | undefined>> = {},
): MachineDocument {
  return readMachine(encoded({ ...SOUND, ...changes }));
}

/** Files as bytes. */
export function encoded(
  files: Readonly<Record<string, string | Uint8Array | undefined>>,
): Map<string, Uint8Array> {
  const bytes = new Map<string, Uint8Array>();
  for (const [file, content] of Object.entries(files)) {
    if (content !== undefined)
      bytes.set(file, typeof content === 'string' ? new TextEncoder().encode(content) : content);
  }
  return bytes;
}

/** The rows of the sound parts.csv with one more. */
export function withPart(row: string): { 'parts.csv': string } {
  return { 'parts.csv': `${SOUND['parts.csv']}${row}\n` };
}
