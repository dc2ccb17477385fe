import { describe, expect, it } from 'vitest';
import { departures, expectations } from './expectation.ts';
import { trialMachine, trialReadings, withReadings } from './trial-machine.ts';

const machine = trialMachine();
const at = (list: ReturnType<typeof expectations>, condition: string, point: string) =>
  list.expectations.find((e) => e.condition === condition && e.point === point)!;

describe('what a point should read', () => {
  it('is near the rails’ volts at the rails, and the logic levels at the collectors', () => {
    const found = expectations(machine);
    expect(found.noPoint).toEqual([]);
    expect(found.stateLost).toEqual([]);
    expect(at(found, 'low', '-12V').value).toBeCloseTo(-12, 3);
    // A saturated transistor is within 0.2 V of its emitter.
    expect(Math.abs(at(found, 'low', 'C1').value)).toBeLessThan(0.2);
    expect(Math.abs(at(found, 'high', 'C2').value)).toBeLessThan(0.2);
    expect(at(found, 'high', 'C1').value).toBeLessThan(-8);
    for (const e of found.expectations) {
      expect(e.sigma).toBeGreaterThan(0.02);
      expect(e.learnt).toBe(false);
    }
  });
  it('is the same at a pin as at its net, but for the pin of an open joint', () => {
    const sound = expectations(machine);
    for (const c of ['low', 'high']) expect(at(sound, c, 'A/Q1.c').value).toBe(at(sound, c, 'C1').value);
    const open = expectations(machine, { fault: { part: 'A/Q1', mode: 'open-joint:c' }, condition: 'low' });
    expect(at(open, 'low', 'C1').value).toBeLessThan(-8);
    expect(Math.abs(at(open, 'low', 'A/Q1.c').value)).toBeLessThan(0.3);
    expect(at(open, 'low', 'A/Q2.b').value).toBe(at(open, 'low', 'B2').value);
  });
  it('under a fault is less sure where the fault moves it', () => {
    const sound = expectations(machine);
    const short = expectations(machine, { fault: { part: 'A/Q1', mode: 'short-ce' } });
    expect(Math.abs(at(short, 'high', 'C1').value)).toBeLessThan(0.2);
    expect(at(short, 'high', 'C1').sigma).toBeGreaterThan(0.05 * Math.abs(at(sound, 'high', 'C1').value));
    expect(at(short, 'low', 'IN1').value).toBeCloseTo(at(sound, 'low', 'IN1').value, 3);
  });
  it('follows the room', () => {
    const [cold, hot] = [5, 45].map((ambient) => expectations(machine, { ambient }));
    // A conducting junction falls by about 2 mV a degree.
    const fall = (at(hot!, 'low', 'B1').value - at(cold!, 'low', 'B1').value) / 40;
    expect(fall).toBeGreaterThan(0.001);
    expect(fall).toBeLessThan(0.003);
  });
  it('is not asked for a condition or a fault that is not there', () => {
    expect(() => expectations(machine, { condition: 'sideways' })).toThrow('sideways');
    expect(() => expectations(machine, { fault: { part: 'A/R1', mode: 'open-b' } })).toThrow('A/R1:open-b');
  });
});

describe('departures', () => {
  it('of a sound unit are small, with the sound twin and without', () => {
    for (let seed = 1; seed <= 12; seed++) {
      const west = trialReadings(machine, { unit: 'west', seed: seed + 100 });
      const east = trialReadings(machine, { unit: 'east', seed });
      for (const m of [withReadings(machine, west), withReadings(machine, east, west)]) {
        const found = departures(m, 'west');
        expect(found.length).toBe(west.length);
        for (const d of found) expect(Math.abs(d.z), `${seed} ${d.condition} ${d.point}`).toBeLessThan(4);
      }
    }
  });
  it('are ranked, the largest first, and a fault stands out', () => {
    const west = trialReadings(machine, { unit: 'west', seed: 2, faults: ['A/R5:high:4'] });
    const found = departures(withReadings(machine, west), 'west');
    const sizes = found.map((d) => Math.abs(d.z));
    expect(sizes).toEqual([...sizes].sort((a, b) => b - a));
    expect(found[0]!.point).toMatch(/B2|C1/);
    expect(sizes[0]).toBeGreaterThan(5);
    for (const d of found) {
      expect(d.z).toBeCloseTo((d.value - d.expected) / d.sigma, 9);
      expect(d.twin).toBeUndefined();
    }
  });
  it('are narrower beside a twin, whose reading they show', () => {
    const west = trialReadings(machine, { unit: 'west', seed: 2 });
    const east = trialReadings(machine, { unit: 'east', seed: 3 });
    const alone = departures(withReadings(machine, west), 'west');
    const beside = departures(withReadings(machine, west, east), 'west');
    for (const d of beside) {
      const same = (x: { condition: string; point: string }): boolean =>
        x.condition === d.condition && x.point === d.point;
      expect(d.twin).toBe(east.find(same)!.value);
      expect(d.sigma).toBeLessThanOrEqual(alone.find(same)!.sigma * 1.001);
    }
  });
  it('where the sound unit contradicts the drawing follow the sound unit', () => {
    // Both units have 18 kΩ where the folder says 8.2 kΩ.
    const real = {
      ...machine,
      parts: machine.parts.map((p) => (p.name === 'A/R5' ? { ...p, value: 18e3 } : p)),
    };
    const west = trialReadings(real, { unit: 'west', seed: 2 });
    const east = trialReadings(real, { unit: 'east', seed: 3 });
    const alone = departures(withReadings(machine, west), 'west');
    expect(Math.abs(alone[0]!.z)).toBeGreaterThan(4);
    const beside = departures(withReadings(machine, west, east), 'west');
    for (const d of beside) expect(Math.abs(d.z)).toBeLessThan(4);
    expect(beside.filter((d) => d.drawing).map((d) => d.point)).toContain('C1');
    expect(alone.some((d) => d.drawing)).toBe(false);
  });
  it('are not asked of a unit that is not there', () => {
    expect(() => departures(machine, 'north')).toThrow('north');
  });
});
