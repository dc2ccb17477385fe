/** The demo as the files of a machine folder, for the program's own `demo` command. */
import { machineFiles } from '../src/machine/index.ts';
import { DEFAULT_SEED, demoMachine } from './readings.ts';
import { DEFAULT_SCENARIO, SCENARIOS } from './scenarios.ts';

/** Names of the scenarios, the default one first. */
export const scenarioNames: readonly string[] = SCENARIOS.map((s) => s.name);

/** Texts by file name, and what the keeper reports; undefined for a scenario that there is not. */
export function writtenDemo(
  name: string = DEFAULT_SCENARIO.name,
  seed: number = DEFAULT_SEED,
  extent: 'evening' | 'all' = 'evening',
): { readonly files: ReadonlyMap<string, string>; readonly symptom: string } | undefined {
  const scenario = SCENARIOS.find((s) => s.name === name);
  return (
    scenario && { files: machineFiles(demoMachine({ scenario, seed, extent })), symptom: scenario.symptom }
  );
}
