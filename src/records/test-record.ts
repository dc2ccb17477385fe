/** For tests: a record in a fresh folder, with the demo machine or a small one. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openRecord } from './open-record.ts';
import type { NewMachine } from './record-types.ts';
import type { WorkshopRecord } from './workshop-record.ts';

export const DEMO = fileURLToPath(new URL('../../demo/tide-gauge', import.meta.url));
export const clock = (): Date => new Date('2026-10-03T09:00:00Z');

/** Two boards of a turnstile, nothing traced. Invented. */
export const TURNSTILE: NewMachine = {
  name: 'Turnstile',
  reference: '0V',
  rails: [{ net: '-12V', volts: -12 }],
  units: [
    { id: 'town', health: 'healthy' },
    { id: 'island', health: 'faulty' },
  ],
  boards: [
    { name: 'COUNT', pins: ['-12V', '0V', 'STEP', 'CARRY'], caution: 'potted', outputs: ['CARRY'] },
    { name: 'DRIVE', pins: ['1=-12V', '2=0V', '7=CARRY', '8=TENS'] },
  ],
  points: [{ point: 'STEP' }, { point: 'CARRY', caution: 'next to the mains lugs' }, { point: 'TENS' }],
  states: [{ name: 'rest', steps: 'touch nothing' }],
};

export interface Place {
  readonly folder: string;
  readonly file: string;
  readonly open: (create?: boolean) => Promise<WorkshopRecord>;
  readonly end: () => Promise<void>;
}

/** A fresh folder; records that were opened in it are closed with it. */
export function freshPlace(): Place {
  const folder = mkdtempSync(join(tmpdir(), 'sisterboard-'));
  const file = join(folder, 'record.sisterboard');
  const opened: WorkshopRecord[] = [];
  return {
    folder,
    file,
    open: async (create = true) => {
      const record = await openRecord(file, { clock, create });
      opened.push(record);
      return record;
    },
    end: async () => {
      for (const record of opened) await record.close();
      rmSync(folder, { recursive: true });
    },
  };
}
