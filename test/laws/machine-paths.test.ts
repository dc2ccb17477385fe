import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { machinePathBreaches } from './machine-paths.ts';

/** An absolute path, made here so that this file does not break the law. */
const absolute = (...parts: string[]) => ['', ...parts].join('/');

describe('paths of a machine', () => {
  it('no file names a path of the machine that it was written on', () => {
    expect(machinePathBreaches(repositoryFiles())).toEqual([]);
  });

  it.each([
    `readFileSync('${absolute('home', 'someone', 'readings.csv')}')`,
    `see ${absolute('tmp', 'trial')}`,
    `"${absolute('Users', 'someone')}"`,
    `cd ${absolute('work', 'main')}`,
    `"${['C:', 'Users', 'someone'].join('\\')}"`,
  ])('%s is a breach', (text) => {
    expect(machinePathBreaches([{ path: 'docs/made-up.md', text }])).toHaveLength(1);
  });

  it.each(["import '../work/index.ts'", '#!/usr/bin/env bash', 'src/work/index.ts', 'half home/root/away'])(
    '%s is in order',
    (text) => {
      expect(machinePathBreaches([{ path: 'docs/made-up.md', text }])).toEqual([]);
    },
  );
});
