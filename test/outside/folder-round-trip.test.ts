/** Law: a machine that is written as a folder and read again is the same. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Machine, machineFiles, readMachine, writeMachine } from '../../src/machine/index.ts';
import { encoded } from '../../src/machine/test-folder.ts';
import { foreign, machineOf, sketch } from './drawn-machine.ts';

const read = (files: ReadonlyMap<string, string>): ReturnType<typeof readMachine> =>
  readMachine(encoded(Object.fromEntries(files)));

describe('a machine', () => {
  it('written as a folder and read again is the same', () => {
    fc.assert(
      fc.property(sketch, (drawn) => {
        const before = machineOf(drawn);
        expect(read(machineFiles(before)).machine).toEqual(before);
      }),
      { numRuns: 300 },
    );
  });

  it('read from a folder and written back unchanged gives the same bytes', () => {
    fc.assert(
      fc.property(sketch, (drawn) => {
        const before = machineOf(drawn);
        const files = machineFiles(before);
        expect(writeMachine(read(files))).toEqual(files);
        // Also when the machine comes back as another value that says the same.
        const document = read(files);
        expect(writeMachine({ ...document, machine: structuredClone(document.machine!) })).toEqual(files);
      }),
      { numRuns: 100 },
    );
  });

  it('changed in any way, written over a foreign folder and read again is the changed one', () => {
    fc.assert(
      fc.property(
        sketch,
        sketch,
        fc.constantFrom(',', ';', '\t'),
        fc.func(fc.boolean()),
        (first, second, separator, keep) => {
          const one = machineOf(first);
          const other = machineOf(second);
          const files = new Map(
            [...machineFiles(one)].map(([file, csv]) => [file, foreign(file, csv, separator)]),
          );
          const document = read(files);
          expect(document.machine).toEqual(one);
          const mixed = <T>(a: readonly T[], b: readonly T[], key: (item: T) => unknown): T[] => {
            const kept = a.filter((item) => keep(key(item)));
            const fresh = b.filter((item) => !kept.some((k) => key(k) === key(item)));
            return keep('turn') ? [...fresh, ...kept] : [...kept, ...fresh];
          };
          const after: { -readonly [K in keyof Machine]: Machine[K] } = {
            ...one,
            name: other.name,
            units: other.units,
            parts: mixed(one.parts, other.parts, (part) => part.name),
            conditions: mixed(one.conditions, other.conditions, (condition) => condition.name),
            readings: mixed(one.readings, other.readings, (reading) => JSON.stringify(reading)),
            flow: mixed(one.flow, other.flow, ({ board, stage }) => `${board}/${stage}`),
            points: other.points,
            boards: other.boards ?? [],
          };
          if (after.boards?.length === 0) delete after.boards;
          const pointsFile = files.has('points.csv') || machineFiles(after).has('points.csv');
          const again = read(writeMachine({ ...document, machine: after })).machine!;
          if (pointsFile) expect(again).toEqual(after);
          else expect({ ...again, points: after.points }).toEqual(after);
        },
      ),
      { numRuns: 200 },
    );
  });
});
