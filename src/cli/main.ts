/**
 * The command line: arguments in, messages and exit codes out. What a command does lives in `workbench`;
 * each command loads it only when it is called, so that `--help` starts at once.
 *
 * Exit codes: 0 answered, 2 the call or the input is wrong, 1 a fault of the program.
 */

import { Command, CommanderError } from 'commander';
import about from '../../package.json' with { type: 'json' };

const program = new Command('sisterboard')
  .description(
    'Finds the failed part of a discrete-transistor machine from readings of a healthy and a faulty unit.',
  )
  .version(about.version)
  .showSuggestionAfterError()
  .exitOverride();

try {
  await program.parseAsync();
} catch (error) {
  if (!(error instanceof CommanderError)) throw error;
  process.exitCode = error.exitCode === 0 ? 0 : 2;
}
