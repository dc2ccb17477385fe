import { describe, expect, it } from 'vitest';
import { repositoryFiles } from './files.ts';
import { directionBreaches } from './import-direction.ts';

describe('import direction', () => {
  it('every import of src/ runs from a later module to an earlier one', () => {
    expect(directionBreaches(repositoryFiles())).toEqual([]);
  });

  it.each([
    ['a value of a later module', 'circuit', "import { suspects } from '../diagnosis/index.ts';"],
    ['a type of a later module', 'quantity', "import type { Part } from '../machine/index.ts';"],
    ['a re-export of a later module', 'quantity', "export type { Part } from '../machine/index.ts';"],
    ['a type named in place', 'quantity', "type P = import('../machine/index.ts').Part;"],
    ['a module loaded late', 'faults', "const m = await import('../records/index.ts');"],
    ['an import over several lines', 'quantity', "import {\n  a,\n  b,\n} from '../machine/index.ts';"],
    ['the inside of another module', 'circuit', "import { parsed } from '../machine/text.ts';"],
    ['a value of the server on the page', 'web', "import { serve } from '../server/index.ts';"],
    ['a file outside src/', 'cli', "import { board } from '../../bench/board.ts';"],
    ['no known module', 'helpers', ''],
  ])('%s is a breach', (_, folder, text) => {
    expect(directionBreaches([{ path: `src/${folder}/made-up.ts`, text }])).toHaveLength(1);
  });

  it.each([
    ['an earlier module', 'diagnosis', "import { operatingPoint } from '../circuit/index.ts';"],
    ['a file of the same module', 'circuit', "import { solve } from './matrix/index.ts';"],
    ["the server's types on the page", 'web', "import type { Api } from '../server/index.ts';"],
    ['a pure module on the page', 'web', "import { parsed } from '../quantity/index.ts';"],
    [
      'a later module in a comment or a string',
      'quantity',
      "// import '../cli/x.ts'\nconst s = `import '../cli/x.ts'`;",
    ],
    ['a package', 'cli', "import { Command } from 'commander';"],
  ])('%s is in order', (_, folder, text) => {
    expect(directionBreaches([{ path: `src/${folder}/made-up.ts`, text }])).toEqual([]);
  });
});
