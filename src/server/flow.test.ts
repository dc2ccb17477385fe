import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Hono } from 'hono';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openRecord, type WorkshopRecord } from '../records/index.ts';
import { application } from './app.ts';
import type { FlowView } from './flow-views.ts';
import { RecordWorkshop } from './record-workshop.ts';
import type { Refusal } from './views.ts';

const PORT = 4175;
const SECRET = 'a-secret-of-the-test-and-of-nothing-else';

/** Two inverters crosswise, invented; east is sound, west's pair stands in neither state. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'ticket counter',
    reference: '0V',
    ambient: 22,
    rails: [
      { net: '-12V', volts: -12, tolerance: 5 },
      { net: '+6V', volts: 6, tolerance: 5 },
    ],
    units: [
      { id: 'east', health: 'healthy' },
      { id: 'west', health: 'faulty' },
    ],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1
A,R1,resistor,,2.2k,,1=-12V 2=C1
A,R2,resistor,,10k,,1=C2 2=B1
A,R3,resistor,,68k,,1=+6V 2=B1
A,Q2,transistor,GE-PNP,,,e=0V b=B2 c=C2
A,R4,resistor,,2.2k,,1=-12V 2=C2
A,R5,resistor,,10k,,1=C1 2=B2
A,R6,resistor,,68k,,1=+6V 2=B2
`,
  'conditions.csv': 'condition,net,role,volts,ohms\nset,C1,hint,0,\nset,C2,hint,-10,\n',
  'points.csv': 'point,minutes,note,caution\nC1,1,,the lamp above it is at 110 V\nC2,1,,\n',
  'readings.csv':
    'unit,condition,point,quantity,value\neast,set,C1,V,-0.1\neast,set,C2,V,-9.8\nwest,set,C1,V,-6\nwest,set,C2,V,-4\n',
};

let folder: string;
let record: WorkshopRecord;
let workshop: RecordWorkshop;
let app: Hono;
let id: number;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  const clock = () => new Date(Date.UTC(2024, 10, 9));
  record = await openRecord(join(folder, 'record.sisterboard'), { clock, create: true });
  workshop = new RecordWorkshop(record, clock, undefined);
  app = application(workshop, { secret: SECRET, port: () => PORT }, join(folder, 'no-pages'));
  const files = Object.entries(FILES).map(([name, text]) => [name, new TextEncoder().encode(text)] as const);
  ({ id } = await workshop.importMachine(new Map(files)));
});
afterAll(async () => {
  await workshop.close();
  await record.close();
  rmSync(folder, { recursive: true });
});

async function asked(query: string): Promise<{ readonly status: number; readonly body: unknown }> {
  const response = await app.request(`http://127.0.0.1:${PORT}/api/machines/${id}/flow${query}`, {
    headers: { host: `127.0.0.1:${PORT}`, cookie: `sisterboard-${PORT}=${SECRET}` },
  });
  return { status: response.status, body: await response.json() };
}

describe('the signal flow over the wire', () => {
  it('tells what drives each point, loops with places and cautions, and nothing of a unit unless asked', async () => {
    const { status, body } = await asked('');
    const view = body as FlowView;
    expect(status).toBe(200);
    expect(view.points.find(({ point }) => point === 'C1')).toEqual({
      point: 'C1',
      board: 'A',
      drivenBy: 'inverter A/Q1, bistable',
      from: [{ point: 'B1', by: 'A/Q1', certain: true }],
      outside: '',
      looks: null,
      caution: 'the lamp above it is at 110 V',
    });
    expect(view.way).toEqual([]);
    expect(view.answer).toBeNull();
    const [loop] = view.loops;
    expect(loop).toMatchObject({ words: 'bistable A/Q1 A/Q2', closed: '', bad: false });
    const held = loop!.rings[0]!.places.find(({ words }) => words.startsWith('clip C1 to 0V'));
    expect(held!.caution).toBe('C1: the lamp above it is at 110 V');
  });

  it('follows a point back, and names the loop of a unit in which all looks bad', async () => {
    const view = (await asked('?unit=west&point=A/Q2.c')).body as FlowView;
    expect(view.way.map(({ point }) => point)).toEqual(['C2', 'B2', 'C1', 'B1']);
    expect(view.points.find(({ point }) => point === 'C2')!.looks).toEqual({ good: 0, bad: 1 });
    expect(view.loops[0]!.bad).toBe(true);
    expect(view.answer).toMatchObject({ readings: 2, bad: 2, named: [] });
    expect(view.answer!.loops[0]).toContain('bistable A/Q1 A/Q2');
  });

  it.each([
    ['?unit=nobody', 'unknown-unit'],
    ['?point=C9', 'unknown-point'],
    ['?point=', 'bad-request'],
  ])('refuses %s', async (query, code) => {
    const { status, body } = await asked(query);
    expect(status).toBeGreaterThanOrEqual(400);
    expect(status).toBeLessThan(500);
    expect((body as Refusal).error.code).toBe(code);
  });
});
