/**
 * A process that writes to a record, for tests that kill it or let several write at once: it is bundled and started by
 * record-crash.test.ts. What it was told is done is a line on standard output, written before anything else is begun.
 *
 *     MODE FILE NAME     `changes`: changes of every kind without end;  `captures N`: captures without end, numbered from N;
 *                        `count N`: adds 1 to a cell N times
 */
import { writeSync } from 'node:fs';
import { openRecord, type WorkshopRecord } from '../../src/records/index.ts';
import { captureText } from './capture-text.ts';

const [mode = '', file = '', name = '', times = '0'] = process.argv.slice(2);

const confirmed = (what: object): void => {
  writeSync(1, `${JSON.stringify(what)}\n`);
};

const record = await openRecord(file, { clock: () => new Date(), create: true });
const { id } = (await record.machines())[0] ?? (await made(record));
confirmed({ ready: id });
if (mode === 'count') await count(Number(times));
else if (mode === 'captures') await captures(Number(times));
else await changes();

async function made(into: WorkshopRecord): Promise<{ id: number }> {
  return into.createMachine({
    name: 'Crane',
    reference: '0V',
    rails: [{ net: '-12V', volts: -12 }],
    units: [{ id: 'north', health: 'healthy' }],
    boards: [{ name: 'A', pins: ['-12V', '0V', 'OUT'] }],
    states: [{ name: 'rest' }],
  });
}

/** Each change but the readings writes two rows, or one and its place in the history, that belong together. */
async function changes(): Promise<void> {
  const reading = { unit: 'north', condition: 'rest', point: 'OUT', quantity: 'V' };
  for (let i = 0; ; i++) {
    const mark = `${name}-${i}`;
    const taken = await record.takeReading(id, { ...reading, value: `-${i}m`, note: mark });
    confirmed({ reading: taken.reading, value: `-${i}m`, mark });
    const twins = [`${mark}-left`, `${mark}-right`].map((board) => ({
      add: { board, note: 'x'.repeat(2000) },
    }));
    await record.changeSheet(id, 'boards', twins, mark);
    confirmed({ boards: mark });
    const { entry } = await record.addLogEntry(id, { unit: 'north', kind: 'note', text: mark });
    confirmed({ entry, mark });
    await record.place(id, { board: 'A', side: 'copper', unit: '', mark, x: 0.5, y: 0.5 });
    const undone = await record.undo(id);
    confirmed({ undone: undone!.id, mark });
  }
}

/** Each a file of its own text, read as it comes in pieces: a little over two pieces of the store. */
async function captures(from: number): Promise<void> {
  for (let i = from; ; i++) {
    const bytes = new TextEncoder().encode(captureText(i));
    const pieces = async function* () {
      for (let at = 0; at < bytes.length; at += 65_536) {
        yield bytes.subarray(at, at + 65_536);
        await new Promise((resolve) => setImmediate(resolve));
      }
    };
    const facts = { unit: 'north', condition: 'rest', note: String(i), points: ['OUT'] };
    const { capture } = await record.addCapture(id, { file: `${i}.csv`, ...facts }, pieces());
    confirmed({ capture, number: i });
  }
}

async function count(n: number): Promise<void> {
  for (let done = 0; done < n; ) {
    const [row] = (await record.sheet(id, 'states')).rows;
    const note = String(Number(row!.cells.note) + 1);
    try {
      await record.changeSheet(
        id,
        'states',
        [{ row: row!.id, version: row!.version, cells: { note } }],
        'count',
      );
      done++;
    } catch (error) {
      if ((error as { code?: string }).code !== 'conflict') throw error;
      confirmed({ conflict: note });
    }
    // A breath for the other one.
    await new Promise((resolve) => setImmediate(resolve));
  }
  await record.close();
}
