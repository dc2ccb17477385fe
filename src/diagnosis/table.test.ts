import { describe, expect, it } from 'vitest';
import { FaultTable, faultTable, tableKey, tableShare } from './table.ts';
import { trialMachine, trialReadings, withReadings } from './trial-machine.ts';

const machine = trialMachine();
const whole = faultTable(machine, [tableShare(machine, 0, 1)]);

/** Every cell of a table: known, state lost, all nets, the open pin. */
function cells(table: FaultTable): { flags: boolean[]; volts: number[] } {
  const flags: boolean[] = [];
  const volts: number[] = [];
  table.faults.forEach((_, fault) => {
    machine.conditions.forEach((_c, c) => {
      flags.push(table.known(fault, c), table.stateLost(fault, c));
      for (const net of table.netlist.nets.keys()) volts.push(table.volts(fault, c, net));
      volts.push(table.pin(fault, c));
    });
  });
  return { flags, volts };
}
/** Solves start from what was solved before, so that shares agree to the accuracy of a table's solves and no better. */
function expectSame(table: FaultTable, accuracy: number): void {
  const [a, b] = [cells(whole), cells(table)];
  expect(b.flags).toEqual(a.flags);
  let worst = 0;
  a.volts.forEach((v, i) => {
    if (Number.isNaN(v)) expect(b.volts[i]).toBeNaN();
    else worst = Math.max(worst, Math.abs(v - b.volts[i]!));
  });
  expect(worst).toBeLessThanOrEqual(accuracy);
}

describe('a fault table', () => {
  it('holds in every cell what the solver finds for that fault', () => {
    for (const [fault, { fault: f }] of whole.faults.entries()) {
      if (fault % 9 !== 0) continue;
      machine.conditions.forEach((_, c) => {
        const moved = new Map<number, number>();
        whole.moved(fault, c, (net, v) => moved.set(net, v));
        whole.netlist.nets.forEach((net, i) => {
          const sound = whole.sound[c]!.volts[i]!;
          expect(whole.volts(fault, c, i), `${f.part}:${f.mode} ${net}`).toBe(moved.get(i) ?? sound);
          if (moved.has(i)) expect(Math.abs(moved.get(i)! - sound)).toBeGreaterThan(9e-4);
        });
      });
    }
    // A shorted collector is at the emitter's level.
    const short = whole.faults.findIndex((f) => f.fault.part === 'A/Q1' && f.fault.mode === 'short-ce');
    const high = machine.conditions.findIndex((c) => c.name === 'high');
    expect(Math.abs(whole.volts(short, high, whole.netlist.netIndex.get('C1')!))).toBeLessThan(0.1);
    expect(whole.sound[high]!.volts[whole.netlist.netIndex.get('C1')!]).toBeLessThan(-8);
  });
  it('is the same in one, two or three shares, joined in any order', () => {
    for (const shares of [2, 3]) {
      const parts = Array.from({ length: shares }, (_, k) => tableShare(machine, k, shares));
      expectSame(faultTable(machine, parts), 1e-3);
      const turned = faultTable(machine, [...parts].reverse());
      expectSame(turned, 1e-3);
      expect(turned.solves).toBe(whole.solves);
    }
  });
  it('comes back from its bytes', () => {
    for (const table of [
      whole,
      faultTable(machine, [tableShare(machine, 0, 2), tableShare(machine, 1, 2)]),
    ]) {
      const bytes = table.toBytes();
      const back = FaultTable.fromBytes(machine, bytes)!;
      expect(cells(back)).toEqual(cells(table));
      expect([back.solves, back.steps, ...back.aids]).toEqual([table.solves, table.steps, ...table.aids]);
      // From within a larger buffer, too, at an odd place.
      const within = new Uint8Array(bytes.length + 7);
      within.set(bytes, 3);
      expect(FaultTable.fromBytes(machine, within.subarray(3, 3 + bytes.length))!.toBytes()).toEqual(bytes);
    }
  });
  it('does not come back from bytes that are cut, too long, of something else, or of another machine', () => {
    const bytes = whole.toBytes();
    for (const n of [0, 3, 7, 8, 40, bytes.length >> 1, bytes.length - 1])
      expect(FaultTable.fromBytes(machine, bytes.subarray(0, n)), `${n}`).toBeUndefined();
    const longer = new Uint8Array(bytes.length + 1);
    longer.set(bytes);
    expect(FaultTable.fromBytes(machine, longer)).toBeUndefined();
    // Every byte of its description, and some of all the rest, by one bit and by all.
    const description = 12 + new DataView(bytes.buffer).getUint32(8, true);
    for (let at = 0; at < bytes.length; at += at < description ? 1 : 997)
      for (const damage of [0x01, 0xff]) {
        const bad = bytes.slice();
        bad[at]! ^= damage;
        expect(FaultTable.fromBytes(machine, bad), `${at}`).toBeUndefined();
      }
    const smaller = { ...machine, parts: machine.parts.slice(1) };
    expect(FaultTable.fromBytes(smaller, bytes)).toBeUndefined();
    const warmer = { ...machine, ambient: 35 };
    expect(FaultTable.fromBytes(warmer, bytes)).toBeUndefined();
  });
  it('reports its progress up to the end', () => {
    const seen: number[] = [];
    let all = 0;
    tableShare(machine, 0, 1, (done, total) => {
      seen.push(done);
      all = total;
    });
    expect(seen).toEqual([...seen].sort((a, b) => a - b));
    expect(seen.at(-1)).toBe(all);
    expect(all).toBe(whole.faults.length * machine.conditions.length);
  });
});

describe('the key of a fault table', () => {
  it('does not change with readings, notes or names of units', () => {
    const read = withReadings(machine, trialReadings(machine, { unit: 'west', seed: 1 }));
    expect(tableKey(read)).toBe(tableKey(machine));
    const noted = { ...machine, parts: machine.parts.map((p) => ({ ...p, note: 'seen' })), name: 'other' };
    expect(tableKey(noted)).toBe(tableKey(machine));
    const told = { ...machine, conditions: machine.conditions.map((c) => ({ ...c, steps: 'press it' })) };
    expect(tableKey(told)).toBe(tableKey(machine));
  });
  it('changes with a part value, a net, a rail, a type, a drive, a hint and the room', () => {
    const [first, ...rest] = machine.parts;
    const changed = [
      { ...machine, parts: machine.parts.map((p) => (p.name === 'A/R5' ? { ...p, value: 8300 } : p)) },
      {
        ...machine,
        parts: [{ ...first!, pins: [{ ...first!.pins[0]!, net: 'X' }, first!.pins[1]!] }, ...rest],
      },
      { ...machine, rails: machine.rails.map((r) => ({ ...r, volts: 1.01 * r.volts })) },
      { ...machine, types: new Map([...machine.types].map(([k, t]) => [k, { ...t, icbo: 2 * t.icbo }])) },
      {
        ...machine,
        conditions: machine.conditions.map((c) => ({
          ...c,
          drives: c.drives.map((d) => ({ ...d, volts: d.volts - 1 })),
        })),
      },
      {
        ...machine,
        conditions: machine.conditions.map((c) => ({ ...c, hints: [{ net: 'C1', volts: -6 }] })),
      },
      { ...machine, ambient: 30 },
    ];
    expect(new Set([machine, ...changed].map(tableKey)).size).toBe(changed.length + 1);
  });
});
