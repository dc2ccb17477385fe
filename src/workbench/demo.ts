import { existsSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { suggestion } from '../machine/index.ts';
import { InputError, importableFiles, writeFolder } from '../records/index.ts';

/** Two folders up from every file of the program, built or not. */
const DEMOS = new URL('../../demo/', import.meta.url);

/** The machine folders that come with the program. */
function demoNames(): readonly string[] {
  return readdirSync(DEMOS, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(new URL(`${entry.name}/machine.json`, DEMOS)))
    .map((entry) => entry.name);
}

/**
 * The files of a demo machine's folder.
 *
 * @throws InputError  `unknown-demo`, with those there are
 */
export async function demoFiles(name = demoNames()[0]): Promise<Map<string, Uint8Array>> {
  const names = demoNames();
  if (name === undefined || !names.includes(name)) {
    throw new InputError(
      'unknown-demo',
      `no demo ${JSON.stringify(name)}${suggestion(name ?? '', names)}; demos: ${names.join(', ')}`,
    );
  }
  return importableFiles(fileURLToPath(new URL(name, DEMOS)));
}

/** What a demo folder that is made anew shall be. */
export interface DemoChoice {
  readonly scenario?: string;
  /** Draws the two units and what the meters show. */
  readonly seed?: number;
  /** Readings of a first evening, or of every point in every state. */
  readonly extent?: 'evening' | 'all';
}

/** The demo's own script, which lies beside src/ and, built, beside this bundle. */
interface DemoScript {
  readonly scenarioNames: readonly string[];
  writtenDemo(
    name?: string,
    seed?: number,
    extent?: 'evening' | 'all',
  ): { readonly files: ReadonlyMap<string, Uint8Array | string>; readonly symptom: string } | undefined;
}

async function demoScript(): Promise<DemoScript> {
  const built = !import.meta.url.endsWith('.ts');
  const script = new URL(built ? '../demo/written.js' : '../../demo/written.ts', import.meta.url);
  return (await import(/* @vite-ignore */ script.href)) as DemoScript;
}

/**
 * Writes a demo machine's folder to a place that is not there yet: whole, or not at all. Without a choice it is the folder
 * that comes with the program.
 *
 * @param signal  when it is given up before the end, nothing is left behind
 * @returns what the keeper of the machine reports, where something was chosen
 * @throws InputError  when something stands at `path`, or it cannot be written, or `unknown-scenario`, with those there are
 */
export async function writeDemo(
  path: string,
  choice: DemoChoice = {},
  signal?: AbortSignal,
): Promise<string | undefined> {
  const { scenario, seed, extent } = choice;
  if (scenario === undefined && seed === undefined && extent === undefined) {
    await writeFolder(path, await demoFiles(), signal);
    return undefined;
  }
  const { scenarioNames, writtenDemo } = await demoScript();
  const written = writtenDemo(scenario, seed, extent);
  if (written === undefined) {
    throw new InputError(
      'unknown-scenario',
      `no scenario ${JSON.stringify(scenario)}${suggestion(scenario ?? '', scenarioNames)}; scenarios: ${scenarioNames.join(', ')}`,
    );
  }
  await writeFolder(path, written.files, signal);
  return written.symptom;
}
