import { describe, expect, it } from 'vitest';
import { run } from '../../src/cli/run.ts';
import { faultTable, Reckoning, tableShare } from '../../src/diagnosis/index.ts';
import { formatFindings, type Machine, readMachine } from '../../src/machine/index.ts';
import { otherwiseInTheCode, shownCalls, shownFolder } from './doc-examples.ts';
import { repositoryFiles } from './files.ts';

const DOCUMENTS = repositoryFiles().filter(({ path }) => path.endsWith('.md'));

function machineOf(path: string, change: (text: string) => string = (text) => text): Machine {
  const files = shownFolder(DOCUMENTS.find((file) => file.path === path)!);
  const readings = change(new TextDecoder().decode(files.get('readings.csv')));
  return readMachine(files.set('readings.csv', new TextEncoder().encode(readings))).machine!;
}

function leaders(machine: Machine, unit: string): string[] {
  const table = faultTable(machine, [tableShare(machine, 0, 1)]);
  return new Reckoning(machine, table, unit).diagnosis().suspects.map(({ parts }) => parts.join(' '));
}

describe('examples in the documents', () => {
  const shown = DOCUMENTS.filter((file) => shownFolder(file).size > 0);

  it('are there', () => {
    expect(shown.map(({ path }) => path)).toEqual(['docs/folder.md', 'docs/guide.md']);
  });

  it.each(shown.map((file) => [file.path, shownFolder(file)] as const))(
    'the folder of %s has nothing wrong or doubtful',
    (_, files) => {
      const { findings } = readMachine(files);
      expect(formatFindings(findings)).toBe('');
    },
  );

  it('a wrong cell in an example is found', () => {
    const file = shown[0]!;
    const files = shownFolder({ text: file.text.replace(',resistor,', ',resister,') });
    expect(formatFindings(readMachine(files).findings)).toContain('resister');
  });

  it("the guide's reading points to the diode that it names, and the symptom alone leaves the resistor in question", () => {
    const machine = machineOf('docs/guide.md');
    expect(leaders(machine, 'crane')[0]).toBe('GATE/D2');
    const symptom = machineOf('docs/guide.md', (text) => text.replace(/^crane,level,BOTH.*\n/m, ''));
    expect([...new Set(leaders(symptom, 'crane'))].slice(0, 2)).toEqual(['GATE/D2', 'GATE/R3']);
  });

  it("the folder page's readings point to the stage that it names", () => {
    expect(leaders(machineOf('docs/folder.md'), 'island')[0]).toBe('COUNT/decade');
  });

  const help = async (command: string): Promise<string> => {
    let text = '';
    const out = (part: string): void => {
      text += part;
    };
    const terminal = { out, err: out, columns: 200, colours: false, unicode: true, progress: undefined };
    await run([command, '--help'], terminal, new AbortController().signal);
    return text;
  };

  const unknown = async (documents: readonly { text: string }[]): Promise<string[]> => {
    const wrong: string[] = [];
    for (const { command, options } of documents.flatMap(shownCalls)) {
      const text = await help(command);
      if (!text.includes(`Usage: sisterboard ${command} `)) wrong.push(command);
      wrong.push(...options.filter((option) => !text.includes(option)));
    }
    return wrong;
  };

  it('call commands and options that are there', async () => {
    expect(DOCUMENTS.flatMap(shownCalls).length).toBeGreaterThan(8);
    expect(await unknown(DOCUMENTS)).toEqual([]);
  });

  it.each(['    sisterboard guess gauge', 'ask `sisterboard suspects gauge --why`'])(
    '%s is a call of nothing',
    async (text) => {
      expect(await unknown([{ text }])).toHaveLength(1);
    },
  );

  it('state constants as the code has them', () => {
    const files = repositoryFiles();
    expect(DOCUMENTS.flatMap((file) => otherwiseInTheCode(file, files))).toEqual([]);
    const drifted = { text: 'a knee of `KNEE = 0.04`, at `ZENER_AMPERES = 5e-3`' };
    expect(otherwiseInTheCode(drifted, files)).toEqual(['KNEE = 0.04']);
  });
});
