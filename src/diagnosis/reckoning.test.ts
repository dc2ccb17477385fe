import { describe, expect, it, test } from 'vitest';
import { failureRates } from '../faults/index.ts';
import type { Machine, Reading } from '../machine/index.ts';
import { type Diagnosis, Reckoning, type Suspect } from './reckoning.ts';
import { type Trial, trialMachine, trialReadings, trialTable, withReadings } from './trial-machine.ts';

const machine = trialMachine();
const table = trialTable(machine);

function diagnosis(m: Machine, unit = 'west'): Diagnosis {
  return new Reckoning(m, table, unit).diagnosis();
}
function west(trial: Omit<Trial, 'unit'>): Reading[] {
  return trialReadings(machine, { unit: 'west', ...trial });
}
const east = trialReadings(machine, { unit: 'east', seed: 1 });
const name = (s: Suspect): string => s.parts.map((p, i) => `${p}:${s.modes[i]}`).join(' + ');
/** Probability of a part, whatever its mode, alone or with others. */
function partProbability(d: Diagnosis, part: string): number {
  return d.suspects.reduce((sum, s) => sum + (s.parts.includes(part) ? s.probability : 0), 0);
}
function modeProbability(d: Diagnosis, wanted: string): number {
  return d.suspects.find((s) => name(s) === wanted)?.probability ?? 0;
}
function expectWhole(d: Diagnosis): void {
  expect(d.suspects.reduce((sum, s) => sum + s.probability, d.sound + d.unexplained)).toBeCloseTo(1, 9);
  for (const s of d.suspects) expect(s.probability).toBeGreaterThanOrEqual(0);
}
function changed(list: readonly Reading[], condition: string, point: string, value: number): Reading[] {
  return list.map((r) => (r.condition === condition && r.point === point ? { ...r, value } : r));
}

describe('without a reading', () => {
  it('suspects are as probable as their parts fail', () => {
    const d = diagnosis(machine);
    expectWhole(d);
    expect(d.sound).toBeCloseTo(0.35, 9);
    expect(d.unexplained).toBeCloseTo(0.01, 9);
    const rates = new Map(
      machine.parts.flatMap((p) => [...failureRates(p)].map(([mode, rate]) => [`${p.name}:${mode}`, rate])),
    );
    const total = [...rates.values()].reduce((a, b) => a + b, 0);
    for (const s of d.suspects) expect(s.probability).toBeCloseTo((0.64 * rates.get(name(s))!) / total, 9);
    expect(d.suspects.length).toBe(rates.size);
    expect(d.group).toBeUndefined();
  });
  it('the first reading to take is one that parts them', () => {
    const [best] = new Reckoning(machine, table, 'west').next(1);
    expect(best!.bits).toBeGreaterThan(0.3);
    expect(best!.would[0]!.suspect).toBe('sound');
  });
  it('a unit believed healthy is more likely sound', () => {
    expect(diagnosis(machine, 'east').sound).toBeGreaterThan(0.7);
  });
});

describe('a planted fault', () => {
  const faults = [
    'A/R3:open',
    'A/R5:high:3',
    'A/Q1:short-ce:1',
    'A/Q2:leaky-bc:4',
    'A/Q2:open-b',
    'A/Q1:low-gain:4',
    'A/D1:short:1',
    'A/R4:open',
    'A/R8:open',
    'A/R2:high:5',
  ];
  test.each(faults)('%s is found with the sound twin and without', (fault) => {
    const [part] = fault.split(':') as [string];
    const mode = fault.split(':').slice(0, 2).join(':');
    for (const readings of [
      [west({ seed: 2, faults: [fault] })],
      [east, west({ seed: 2, faults: [fault] })],
    ]) {
      const d = diagnosis(withReadings(machine, ...readings));
      expectWhole(d);
      expect(d.suspects[0]!.parts).toEqual([part]);
      expect(partProbability(d, part)).toBeGreaterThan(0.9);
      expect(d.suspects.slice(0, 3).map(name)).toContain(mode);
      expect(d.sound).toBeLessThan(0.05);
      expect(d.setAside).toEqual([]);
    }
  });
  it('has reasons that say so: strongest first, a sound unit and the fault beside each reading', () => {
    const readings = west({ seed: 2, faults: ['A/Q1:short-ce:1'] });
    const { suspects } = diagnosis(withReadings(machine, readings));
    const [first] = suspects;
    const [reason] = first!.reasons;
    expect(first!.reasons.length).toBe(readings.length);
    expect(reason!.weight).toBeGreaterThan(3);
    expect(Math.abs(reason!.value - reason!.fault)).toBeLessThan(3 * reason!.faultSigma);
    expect(Math.abs(reason!.value - reason!.sound)).toBeGreaterThan(3 * reason!.soundSigma);
    const all = suspects.slice(0, 10).map((s) => s.reasons.map((r) => r.weight));
    expect(all.flat().some((w) => w < -1)).toBe(true);
    for (const weights of all) {
      const sizes = weights.map(Math.abs);
      expect(sizes).toEqual([...sizes].sort((a, b) => b - a));
    }
  });
  it('is told apart by severity', () => {
    const grades = table.hypotheses.find((h) => h.part === 'A/R5' && h.mode === 'high')!.faults;
    const factor = (words: string): number => Number(words.replace('×', ''));
    for (const grade of [1, 3, 5]) {
      const d = diagnosis(withReadings(machine, east, west({ seed: 4, faults: [`A/R5:high:${grade}`] })));
      expect(name(d.suspects[0]!)).toBe('A/R5:high');
      // This one or a neighbour: the parts around it are off their values, too.
      const ratio = factor(d.suspects[0]!.severity) / factor(grades[grade]!.severity);
      expect(Math.abs(Math.log(ratio))).toBeLessThan(0.6);
    }
  });
  it('is found at the pin of an open joint, and only there', () => {
    const pins = ['A/Q1.c', 'A/Q1.b', 'A/Q2.b', 'A/Q2.c', 'A/Q3.e'];
    for (const fault of ['A/Q1:open-joint:c', 'A/Q2:open-joint:b', 'A/Q2:open-joint:c']) {
      const d = diagnosis(withReadings(machine, west({ seed: 2, faults: [fault], points: pins })));
      expectWhole(d);
      expect(name(d.suspects[0]!)).toBe(fault);
      expect(d.suspects[0]!.probability).toBeGreaterThan(0.9);
    }
    // A pin that stays at its input's -6 V.
    const points = machine.points.map((p) => p.point);
    const diode = diagnosis(withReadings(machine, west({ seed: 2, faults: ['A/D1:open-joint:k'], points })));
    expect(name(diode.suspects[0]!)).toBe('A/D1:open-joint:k');
    expect(diode.suspects[0]!.probability).toBeGreaterThan(0.9);
    expect(diode.setAside).toEqual([]);
    // From the nets alone the joint and the bond inside the case look the same.
    const nets = diagnosis(withReadings(machine, west({ seed: 2, faults: ['A/Q1:open-joint:c'] })));
    const joint = modeProbability(nets, 'A/Q1:open-joint:c');
    const bond = modeProbability(nets, 'A/Q1:open-c');
    const rates = failureRates(machine.parts.find((p) => p.name === 'A/Q1')!);
    expect(joint / bond).toBeCloseTo(rates.get('open-joint:c')! / rates.get('open-c')!, 2);
  });
  it('at a point where nothing can part a wire’s two ends is named with its twin suspects', () => {
    const d = diagnosis(withReadings(machine, west({ seed: 2, faults: ['A/R4:open'] })));
    expect(name(d.suspects[0]!)).toBe('A/R4:open');
    expect([...d.suspects[0]!.indistinct].sort()).toEqual(['A/R4:open-joint:1', 'A/R4:open-joint:2']);
  });
});

describe('two planted faults', () => {
  test.each([
    ['A/Q1:short-ce:1', 'A/Q3:open-e'],
    ['A/R5:high:6', 'A/D2:short:1'],
    ['A/Q2:short-ce:1', 'A/D1:open'],
  ])('%s and %s are both found', (a, b) => {
    const d = diagnosis(withReadings(machine, east, west({ seed: 2, faults: [a, b] })));
    expectWhole(d);
    expect(d.suspects[0]!.parts).toEqual([a, b].map((f) => f.split(':')[0]!).sort());
    for (const f of [a, b]) expect(partProbability(d, f.split(':')[0]!)).toBeGreaterThan(0.9);
  });
});

describe('a sound unit', () => {
  it('is called sound', () => {
    for (let seed = 20; seed < 26; seed++) {
      for (const readings of [[west({ seed })], [east, west({ seed })]]) {
        const d = diagnosis(withReadings(machine, ...readings));
        expectWhole(d);
        expect(d.sound).toBeGreaterThan(d.suspects[0]!.probability);
        expect(d.sound).toBeGreaterThan(0.45);
        expect(d.drawing).toEqual([]);
      }
    }
  });
});

describe('a slip of the probe', () => {
  test.each([
    ['high', 'B1', -9],
    ['low', 'C2', -3],
    ['low', 'OR', 1e6],
  ])('in %s at %s is set aside, and the fault found nonetheless', (condition, point, value) => {
    const readings = changed(west({ seed: 2, faults: ['A/R5:high:3'] }), condition, point, value);
    const d = diagnosis(withReadings(machine, east, readings));
    expectWhole(d);
    expect(name(d.suspects[0]!)).toBe('A/R5:high');
    expect(d.suspects[0]!.probability).toBeGreaterThan(0.9);
    expect(d.setAside.map((x) => `${x.condition} ${x.point}`)).toEqual([`${condition} ${point}`]);
  });
  it('on a sound unit makes no part a probable suspect', () => {
    const d = diagnosis(withReadings(machine, east, changed(west({ seed: 2 }), 'low', 'OR', -9)));
    expect(d.suspects[0]!.probability).toBeLessThan(0.2);
    expect(d.setAside.map((x) => x.point)).toEqual(['OR']);
  });
});

describe('what no fault explains', () => {
  it('is called unexplained', () => {
    // Levels that no single part and no pair brings about.
    let readings = west({ seed: 2 });
    for (const [point, value] of [
      ['B1', -3.3],
      ['B2', -4.4],
      ['OR', 3.1],
      ['OUT', -6.2],
      ['C1', 4.9],
    ] as const)
      for (const c of ['low', 'high'])
        readings = changed(readings, c, point, value + (c === 'low' ? 0.7 : 0));
    const d = diagnosis(withReadings(machine, east, readings));
    expectWhole(d);
    expect(d.unexplained).toBeGreaterThan(0.9);
  });
});

describe('the answer', () => {
  const readings = west({ seed: 5, faults: ['A/Q1:leaky-ce:5'] });
  const plain = diagnosis(withReadings(machine, east, readings));
  const same = (other: Diagnosis): void => {
    expect(other.sound).toBeCloseTo(plain.sound, 5);
    expect(other.unexplained).toBeCloseTo(plain.unexplained, 5);
    for (const s of plain.suspects.slice(0, 20))
      expect(modeProbability(other, name(s)), name(s)).toBeCloseTo(s.probability, 5);
  };
  it('does not depend on the order of the readings', () => {
    same(diagnosis(withReadings(machine, [...readings].reverse(), [...east].reverse())));
  });
  it('does not depend on the order of the parts in the folder', () => {
    const other = { ...machine, parts: [...machine.parts].reverse() };
    const m = withReadings(other, east, readings);
    const d = new Reckoning(m, trialTable(m), 'west').diagnosis();
    expect(name(d.suspects[0]!)).toBe(name(plain.suspects[0]!));
    for (const s of plain.suspects.slice(0, 5))
      expect(Math.abs(modeProbability(d, name(s)) - s.probability), name(s)).toBeLessThan(0.01);
  });
  it('does not depend on readings of other units in other conditions, or of no unit', () => {
    const stray = [{ ...readings[0]!, condition: 'gone', value: 3 }];
    same(diagnosis(withReadings(machine, east, readings, stray)));
  });
  it('takes the later of two readings of one point', () => {
    const first = changed(readings, 'high', 'C1', -1).map((r) => ({ ...r, takenAt: '2024-04-30T10:00' }));
    same(diagnosis(withReadings(machine, east, first, readings)));
  });
  it('is the same by bits when asked again', () => {
    const m = withReadings(machine, east, readings);
    expect(diagnosis(m)).toEqual(diagnosis(m));
  });
});

describe('the unit’s own past', () => {
  it('when it was sound sharpens the answer', () => {
    // What differs from one's own past by a fault of little effect, on six units.
    let better = 0;
    for (let seed = 31; seed < 37; seed++) {
      const now = west({ seed, faults: ['A/R8:high:2'] });
      const past = west({ seed, takenAt: '2019-06-01T10:00' });
      const without = partProbability(diagnosis(withReadings(machine, now)), 'A/R8');
      const beside = partProbability(diagnosis(withReadings(machine, past, now)), 'A/R8');
      if (beside > without) better++;
    }
    expect(better).toBeGreaterThanOrEqual(5);
  });
});

describe('a drawing that is wrong', () => {
  const redrawn = (part: string, value: number): Machine => ({
    ...machine,
    parts: machine.parts.map((p) => (p.name === part ? { ...p, value } : p)),
  });
  test.each([
    ['A/R5', 18e3, 'C1'],
    ['A/R3', 22e3, 'B1'],
    ['A/R2', 12e3, 'OR'],
  ])('at %s, as both units show, is the suspect and not the part', (part, value, point) => {
    const real = redrawn(part, value);
    const sound = trialReadings(real, { unit: 'east', seed: 1 });
    const d = diagnosis(withReadings(machine, sound, trialReadings(real, { unit: 'west', seed: 2 })));
    expectWhole(d);
    expect(d.drawing[0]!.points.join(' ')).toContain(point);
    expect(partProbability(d, part)).toBeLessThan(0.1);
    expect(d.sound).toBeGreaterThan(0.5);
    // Beside it a fault of this unit alone is found.
    const faulty = trialReadings(real, { unit: 'west', seed: 2, faults: ['A/Q2:leaky-bc:4'] });
    const both = diagnosis(withReadings(machine, sound, faulty));
    expect(name(both.suspects[0]!)).toBe('A/Q2:leaky-bc');
    expect(both.suspects[0]!.probability).toBeGreaterThan(0.9);
  });
});

describe('the next reading', () => {
  it('is one that was not taken, best gain a minute first, with what each suspect would show', () => {
    const taken = west({ seed: 2, faults: ['A/Q1:short-ce:1'] }).filter((r) => r.point === 'OUT');
    const next = new Reckoning(withReadings(machine, taken), table, 'west').next(8);
    expect(next.length).toBe(8);
    const gains = next.map((n) => n.bits / n.minutes);
    expect(gains).toEqual([...gains].sort((a, b) => b - a));
    for (const n of next) {
      expect(taken.some((r) => r.point === n.point && r.condition === n.condition)).toBe(false);
      expect(n.bits).toBeGreaterThan(0);
      for (const w of n.would) expect(w.sigma).toBeGreaterThan(0);
    }
  });
  it('is foretold from what was read: a rail that is low lowers what hangs on it', () => {
    const at = (volts: number): number => {
      const rail = west({ seed: 2, points: ['-12V'] }).map((r) => ({ ...r, value: volts }));
      const next = new Reckoning(withReadings(machine, rail), table, 'west').next(60);
      const off = next.find((n) => n.point === 'C2' && n.condition === 'low')!;
      return off.would.find((w) => w.suspect === 'sound')!.mean;
    };
    expect(at(-11.5) - at(-12.3)).toBeGreaterThan(0.5);
    expect(at(-11.5) - at(-12.3)).toBeLessThan(0.9);
  });
  it('costs what its point costs', () => {
    const dear = {
      ...machine,
      points: machine.points.map((p) => ({ ...p, minutes: p.point === 'C1' ? 50 : 1 })),
    };
    const first = (m: Machine): number =>
      new Reckoning(m, table, 'west').next(60).findIndex((n) => n.point === 'C1' && n.condition === 'high');
    expect(first(dear)).toBeGreaterThan(first(machine));
  });
  it('carries the caution of its point', () => {
    const noted = { ...machine, points: machine.points.map((p) => ({ ...p, note: `mind ${p.point}` })) };
    for (const n of new Reckoning(noted, table, 'west').next(5)) expect(n.caution).toBe(`mind ${n.point}`);
  });
  it('followed from one symptom names the part', () => {
    for (const fault of ['A/Q1:short-ce:1', 'A/R5:high:5', 'A/Q2:leaky-bc:5', 'A/D1:short:1']) {
      const all = west({ seed: 6, faults: [fault], points: machine.points.map((p) => p.point) });
      const taken = all.filter((r) => r.point === 'OUT');
      const part = fault.split(':')[0]!;
      let d = diagnosis(withReadings(machine, taken));
      while (partProbability(d, part) < 0.9 && taken.length < 12) {
        const [next] = new Reckoning(withReadings(machine, taken), table, 'west').next(1);
        taken.push(all.find((r) => r.point === next!.point && r.condition === next!.condition)!);
        d = diagnosis(withReadings(machine, taken));
      }
      expect(partProbability(d, part), fault).toBeGreaterThan(0.9);
      expect(taken.length, fault).toBeLessThan(10);
    }
  });
});

describe('a pause in the search', () => {
  it('does not turn the readings of the trouble into history', () => {
    const faults = ['A/Q1:short-ce:3'];
    const winter = west({ seed: 5, faults, takenAt: '2024-01-10T10:00' });
    const spring = west({ seed: 6, faults, takenAt: '2024-05-10T10:00' });
    const before = diagnosis(withReadings(machine, winter));
    const after = diagnosis(withReadings(machine, [...winter, spring[0]!]));
    expect(partProbability(after, 'A/Q1')).toBeGreaterThan(0.5);
    expect(partProbability(after, 'A/Q1')).toBeCloseTo(partProbability(before, 'A/Q1'), 1);
  });
});
