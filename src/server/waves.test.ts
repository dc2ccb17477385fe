import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Hono } from 'hono';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { InputError, openRecord, type WorkshopRecord } from '../records/index.ts';
import { Desk } from '../workbench/index.ts';
import { application } from './app.ts';
import { RecordWorkshop } from './record-workshop.ts';
import type { MachineView, Refusal } from './views.ts';
import type { WavesView } from './wave-views.ts';

const PORT = 4175;
const SECRET = 'a-secret-of-the-test-and-of-nothing-else';

/** A stage that inverts, invented. */
const FILES: Readonly<Record<string, string>> = {
  'machine.json': JSON.stringify({
    format: 1,
    name: 'turnstile counter',
    reference: '0V',
    ambient: 22,
    rails: [{ net: '-12V', volts: -12, tolerance: 5 }],
    units: [{ id: 'east', health: 'healthy' }],
  }),
  'parts.csv': `board,ref,kind,type,value,tolerance,pins
A,R1,resistor,,10k,5,1=-12V 2=B1
A,Q1,transistor,GE-PNP,,,e=0V b=B1 c=C1
A,R4,resistor,,2.2k,5,1=-12V 2=C1
`,
  'conditions.csv': `condition,net,role,volts,ohms,wave
standing,B1,drive,-0.3,1000,
turning,B1,drive,,1000,pulses low=-0.6 high=3 width=70u period=200u edge=1u
`,
  'points.csv': 'point,minutes,note,caution\nB1,1,base,\nC1,1,collector,the lamp above it is at 110 V\n',
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
  rmSync(folder, { recursive: true, force: true });
});

async function ask<T>(path: string, init: RequestInit = {}): Promise<{ status: number; body: T }> {
  const headers = { host: `127.0.0.1:${PORT}`, cookie: `sisterboard-${PORT}=${SECRET}` };
  const response = await app.request(`/api/machines/${id}${path}`, { headers, ...init });
  return { status: response.status, body: (await response.json()) as T };
}

const at = (list: readonly number[], i: number): number => list.at(i)!;

describe('waves over the wire', () => {
  it('are those of a sound unit within their band, with cautions', async () => {
    const { status, body } = await ask<WavesView>('/waves?state=turning&points=C1');
    expect(status).toBe(200);
    expect(body).toMatchObject({ state: 'turning', noAnswer: '', from: 0, repeats: true, fault: null });
    expect(body.to).toBeCloseTo(200e-6, 9);
    expect(body.faultInstants).toEqual([]);
    const [wave] = body.waves;
    expect(body.waves.map(({ point }) => point)).toEqual(['C1']);
    expect(wave!.caution).toBe('the lamp above it is at 110 V');
    for (const list of [wave!.volts, wave!.low, wave!.high]) expect(list).toHaveLength(body.instants.length);
    body.instants.forEach((t, i) => {
      expect(t).toBeGreaterThan(i > 0 ? at(body.instants, i - 1) : -1);
      expect(at(wave!.low, i)).toBeLessThanOrEqual(at(wave!.volts, i));
      expect(at(wave!.high, i)).toBeGreaterThanOrEqual(at(wave!.volts, i));
    });
    expect(Math.max(...wave!.volts)).toBeGreaterThan(-1);
    expect(Math.min(...wave!.volts)).toBeLessThan(-11);
    const machine = await ask<MachineView>('');
    expect(machine.body.states.map(({ name, runs }) => `${name} ${runs}`)).toEqual([
      'standing false',
      'turning true',
    ]);
  });

  it('under a fault go beside the sound ones', async () => {
    const { body } = await ask<WavesView>('/waves?state=turning&fault=A/Q1:open-b');
    expect(body.fault).toMatchObject({ key: 'A/Q1:open-b', part: 'A/Q1' });
    const wave = body.waves.find(({ point }) => point === 'C1')!;
    expect(wave.faultVolts).toHaveLength(body.faultInstants.length);
    expect(Math.max(...wave.faultVolts)).toBeLessThan(-11);
    expect(Math.max(...wave.volts)).toBeGreaterThan(-1);
  });

  it('are refused in words where the state stands still, or a name is none', async () => {
    const codes = async (query: string): Promise<[number, string | undefined]> => {
      const { status, body } = await ask<Refusal>(`/waves?${query}`);
      return [status, body.error?.code];
    };
    expect(await codes('state=standing')).toEqual([422, 'not-running']);
    expect(await codes('state=turning&points=C9')).toEqual([422, 'unknown-point']);
    expect(await codes('state=turning&fault=A/Q9:open-b')).toEqual([422, 'unknown-part']);
    expect(await codes('points=C1')).toEqual([400, 'bad-request']);
    expect(await codes(`state=turning&points=${'x%20'.repeat(201)}`)).toEqual([400, 'bad-request']);
  });

  it('are an answer in words where a circuit cannot be followed', async () => {
    const cannot = new InputError('no-waveform', 'the circuit cannot be followed in "turning"');
    const follows = vi.spyOn(Desk.prototype, 'waves').mockRejectedValue(cannot);
    const { status, body } = await ask<WavesView>('/waves?state=turning');
    follows.mockRestore();
    expect(status).toBe(200);
    expect(body.noAnswer).toBe('the circuit cannot be followed in "turning"');
    expect(body.waves).toEqual([]);
  });

  it('are not computed when nobody waits for them', async () => {
    const gone = new AbortController();
    gone.abort();
    await expect(workshop.waves(id, { state: 'turning', points: ['B1'] }, gone.signal)).rejects.toMatchObject(
      {
        code: 'stopped',
      },
    );
  });
});
