import { describe, expect, it } from 'vitest';
import type { SheetEdit, SheetView } from '../../server/index.ts';
import type { Outcome } from '../live.ts';
import { EditQueue } from './edit-queue.ts';

interface Row {
  id: number;
  version: number;
  cells: Record<string, string>;
}

/** A record of one sheet, with the rules of the real one. */
class Sheet {
  rows: Row[] = [{ id: 1, version: 1, cells: { ref: 'R1', value: '1k' } }];
  revision = 1;
  sent: SheetEdit[][] = [];
  down = false;
  replaces = false;
  #last = 1;

  view(): SheetView {
    return {
      revision: this.revision,
      sheet: 'parts',
      columns: ['ref', 'value'],
      rows: structuredClone(this.rows),
      findings: [],
    };
  }

  change(id: number, cells: Record<string, string>): void {
    this.revision += 1;
    const row = this.rows.find((one) => one.id === id)!;
    Object.assign(row, { version: this.revision, cells: { ...row.cells, ...cells } });
  }

  send = async (edits: SheetEdit[]): Promise<Outcome<SheetView>> => {
    await Promise.resolve();
    if (this.down) return { ok: false, problem: { code: 'unreachable', message: 'gone' } };
    this.sent.push(edits);
    for (const edit of edits) {
      if ('add' in edit) continue;
      const id = 'remove' in edit ? edit.remove : edit.row;
      const row = this.rows.find((one) => one.id === id);
      if (row?.version !== edit.version)
        return { ok: false, problem: { code: 'conflict', message: 'changed', now: row ?? null } };
    }
    this.revision += 1;
    for (const edit of edits) {
      if ('add' in edit) this.#add({ ...edit.add }, edit.after);
      else if ('remove' in edit) this.rows = this.rows.filter(({ id }) => id !== edit.remove);
      else if (this.replaces) {
        const old = this.rows.find(({ id }) => id === edit.row)!;
        this.#add({ ...old.cells, ...edit.cells }, edit.row);
        this.rows = this.rows.filter((row) => row !== old);
      } else {
        const row = this.rows.find(({ id }) => id === edit.row)!;
        Object.assign(row, { version: this.revision, cells: { ...row.cells, ...edit.cells } });
      }
    }
    return { ok: true, value: this.view() };
  };

  #add(cells: Record<string, string>, after?: number): void {
    this.#last += 1;
    const at = after === undefined ? this.rows.length : this.rows.findIndex(({ id }) => id === after) + 1;
    this.rows.splice(at, 0, { id: this.#last, version: this.revision, cells });
  }
}

function started(change: (sheet: Sheet) => void = () => undefined) {
  const sheet = new Sheet();
  change(sheet);
  const queue = new EditQueue(sheet.send, { replaces: sheet.replaces });
  queue.take(sheet.view());
  const cells = () => queue.state().rows.map((row) => `${row.cells.ref} ${row.cells.value}`);
  return { sheet, queue, cells, row: (at: number) => queue.state().rows[at]! };
}

describe('edits of a sheet', () => {
  it('show at once, and are kept in the order in which they were written', async () => {
    const { sheet, queue, cells, row } = started();
    queue.write([{ row: row(0), cells: { value: '2k' } }], 'one');
    queue.write([{ row: row(0), cells: { value: '3k' } }], 'two');
    expect(cells()).toEqual(['R1 3k']);
    await queue.settled();
    expect(sheet.rows.map(({ cells: { value } }) => value)).toEqual(['3k']);
    expect(queue.state()).toMatchObject({ waiting: 0, conflicts: [] });
  });

  it('may go on in a row that the record does not have yet', async () => {
    const { sheet, queue, cells, row } = started();
    const [key] = queue.write([{ cells: { ref: 'R2' } }], 'new');
    expect(row(1).key).toBe(key);
    queue.write([{ row: row(1), cells: { value: '4k7' } }], 'its value');
    await queue.settled();
    queue.write([{ row: row(1), cells: { value: '4k8' } }], 'again');
    await queue.settled();
    expect(sheet.rows.map((one) => one.cells)).toEqual([
      { ref: 'R1', value: '1k' },
      { ref: 'R2', value: '4k8' },
    ]);
    expect(cells()).toEqual(['R1 1k', 'R2 4k8']);
    expect(row(1).key).toBe(key);
  });

  it('of a row that another has changed are shown beside the other’s, and nothing is overwritten unasked', async () => {
    const { sheet, queue, cells, row } = started();
    const seen = row(0);
    sheet.change(1, { value: '9k' });
    queue.take(sheet.view());
    queue.write([{ row: seen, cells: { value: '2k' } }, { cells: { ref: 'R7' } }], 'late');
    await queue.settled();
    expect(cells()).toEqual(['R1 9k', 'R7 undefined']);
    const [conflict] = queue.state().conflicts;
    expect(conflict).toMatchObject({ mine: { value: '2k' }, theirs: { ref: 'R1', value: '9k' } });
    queue.settle(conflict!, 'mine');
    await queue.settled();
    expect(cells()[0]).toBe('R1 2k');
    expect(queue.state().conflicts).toEqual([]);
  });

  it('that cannot be kept stay in their cells until they are tried again or given up', async () => {
    const { sheet, queue, cells, row } = started();
    sheet.down = true;
    queue.write([{ row: row(0), cells: { value: '2k' } }], 'one');
    await queue.settled();
    expect(queue.state().problem?.code).toBe('unreachable');
    expect(cells()).toEqual(['R1 2k']);
    sheet.down = false;
    queue.retry();
    await queue.settled();
    expect(sheet.rows[0]!.cells.value).toBe('2k');
    sheet.down = true;
    queue.write([{ row: row(0), cells: { value: '5k' } }], 'two');
    await queue.settled();
    queue.giveUp();
    expect(cells()).toEqual(['R1 2k']);
  });

  it('take rows away and put rows between', async () => {
    const { queue, cells, row } = started();
    queue.write([{ cells: { ref: 'R3', value: '3k' } }], 'new');
    queue.write([{ after: row(0), cells: { ref: 'R2', value: '2k' } }], 'between');
    expect(cells()).toEqual(['R1 1k', 'R2 2k', 'R3 3k']);
    await queue.settled();
    expect(cells()).toEqual(['R1 1k', 'R2 2k', 'R3 3k']);
    queue.remove([row(0), row(2)], 'away');
    expect(cells()).toEqual(['R2 2k']);
    await queue.settled();
    expect(cells()).toEqual(['R2 2k']);
  });

  it('of a reading go on in the reading that takes its place', async () => {
    const { sheet, queue, cells, row } = started((one) => {
      one.replaces = true;
    });
    const { key } = row(0);
    queue.write([{ row: row(0), cells: { value: '2k' } }], 'one');
    queue.write([{ row: row(0), cells: { ref: 'R9' } }], 'two');
    await queue.settled();
    expect(cells()).toEqual(['R9 2k']);
    expect(row(0).key).toBe(key);
    expect(sheet.rows[0]!.id).toBe(3);
  });
});
