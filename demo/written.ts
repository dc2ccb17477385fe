/** The demo as the files of a machine folder, for the program's own `demo` command. */
import { cellTableText, machineFiles, SHEET_COLUMNS } from '../src/machine/index.ts';
import { demoCaptures } from './captures.ts';
import { demoLog } from './log.ts';
import { boardPictures } from './pictures/index.ts';
import { DEFAULT_SEED, demoMachine } from './readings.ts';
import { DEFAULT_SCENARIO, SCENARIOS } from './scenarios.ts';

/** Names of the scenarios, the default one first. */
export const scenarioNames: readonly string[] = SCENARIOS.map((s) => s.name);

/** Files by path in the folder, and what the keeper reports; undefined for a scenario that there is not. */
export function writtenDemo(
  name: string = DEFAULT_SCENARIO.name,
  seed: number = DEFAULT_SEED,
  extent: 'evening' | 'all' = 'evening',
): { readonly files: ReadonlyMap<string, Uint8Array | string>; readonly symptom: string } | undefined {
  const scenario = SCENARIOS.find((s) => s.name === name);
  if (scenario === undefined) return undefined;
  const machine = demoMachine({ scenario, seed, extent });
  const pictures = boardPictures(machine);
  const kept = demoCaptures(scenario, seed);
  const files = new Map<string, Uint8Array | string>([
    ...machineFiles(machine),
    sheet(
      'log.csv',
      demoLog(scenario).map((e) => ({ ...e, points: e.points.join(' '), suspects: e.suspects.join(' ') })),
    ),
    sheet(
      'photographs.csv',
      pictures.photographs.map((p) => ({ ...p, taken_at: '', turn: '', mirrored: '' })),
    ),
    sheet('placements.csv', pictures.placements),
  ]);
  for (const [file, bytes] of pictures.files) files.set(`photographs/${file}`, bytes);
  if (kept.files.size > 0) {
    files.set(
      ...sheet(
        'captures.csv',
        kept.captures.map(({ takenAt, ...c }) => ({ ...c, taken_at: takenAt })),
      ),
    );
    files.set(...sheet('capture-channels.csv', kept.channels));
  }
  for (const [file, text] of kept.files) files.set(`captures/${file}`, text);
  return { files, symptom: scenario.symptom };
}

function sheet(file: string, records: readonly object[]): [string, string] {
  const columns = SHEET_COLUMNS.get(file)!;
  const rows = records.map((record) =>
    columns.map((column) => `${new Map(Object.entries(record)).get(column) ?? ''}`),
  );
  return [file, cellTableText({ columns, rows })];
}
