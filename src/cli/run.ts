import { Command, CommanderError, InvalidArgumentError, Option } from 'commander';
import about from '../../package.json' with { type: 'json' };
import type { Call, Options } from './call.ts';
import { captureCommands } from './capture-commands.ts';
import type { ServeCall } from './commands/serve.ts';
import type { Terminal } from './terminal.ts';

/** Answered; a fault of the program; the call or the input is wrong; stopped by the person. */
export type ExitCode = 0 | 1 | 2 | 130;

/** What a command does. */
export type Work = (call: Call) => Promise<void>;
/** Commander hands over the arguments, then options and command. */
type Perform = (work: () => Promise<Work>) => (...given: unknown[]) => Promise<void>;

/**
 * Runs one command line.
 *
 * @param args  without the program's own name
 * @param signal  given up when the person presses Ctrl-C
 * @returns the exit code
 */
export async function run(
  args: readonly string[],
  terminal: Terminal,
  signal: AbortSignal,
): Promise<ExitCode> {
  let code: ExitCode = 0;
  const perform: Perform =
    (work) =>
    async (...given) => {
      const [options, command] = given.slice(-2) as [Options, Command];
      const words = given.slice(0, -2).filter((word): word is string => word !== undefined);
      const needed = command.usage().startsWith('FOLDER') && options.record === undefined;
      if (words.length === 0 && needed)
        command.error("error: missing required argument 'FOLDER'", { exitCode: 2 });
      const [{ Call }, does] = await Promise.all([import('./call.ts'), work()]);
      const call = new Call(words, options, terminal, signal);
      await does(call);
      code = call.exitCode;
    };
  try {
    const serving = async (options: ServeCall): Promise<void> => {
      const { serveRecord } = await import('./commands/serve.ts');
      await serveRecord(options, terminal, signal);
    };
    await program(terminal, perform, serving).parseAsync(args, { from: 'user' });
    return code;
  } catch (error) {
    return ending(error, terminal, signal);
  }
}

function ending(error: unknown, terminal: Terminal, signal: AbortSignal): ExitCode {
  // It has said itself what is wrong.
  if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
  if (signal.aborted) {
    terminal.err('Stopped. Nothing was written.\n');
    return 130;
  }
  if (error instanceof Error && error.name === 'InputError') {
    terminal.err(`${error.message}\n`);
    return 2;
  }
  const text = error instanceof Error ? (error.stack ?? error.message) : String(error);
  terminal.err(`This is a fault of Sisterboard ${about.version}, not of your folder:\n${text}\n`);
  return 1;
}

function program(
  terminal: Terminal,
  perform: Perform,
  serving: (options: ServeCall) => Promise<void>,
): Command {
  const root = new Command('sisterboard')
    .description(
      'Finds the failed part of a discrete-transistor machine from readings of a healthy and a faulty unit.',
    )
    .version(about.version)
    .configureOutput({
      writeOut: terminal.out,
      writeErr: terminal.err,
      getOutHelpWidth: () => terminal.columns,
      getErrHelpWidth: () => terminal.columns,
      getOutHasColors: () => false,
      getErrHasColors: () => false,
    })
    .usage('COMMAND FOLDER [options]')
    .configureHelp({
      subcommandTerm: (command) => {
        if (command.name() === 'help') return 'help COMMAND';
        const [first = ''] = command.usage().split(' ');
        return /^[A-Z]/.test(first) ? `${command.name()} ${first}` : command.name();
      },
      optionTerm: ({ flags }) => flags.replaceAll(/[<>]/g, ''),
    })
    .helpCommand('help [command]', 'how a command is called')
    .helpOption('-h, --help', 'how a command is called')
    .addHelpText(
      'after',
      '\nFOLDER is a machine folder: machine.json, parts.csv, readings.csv and so on.\nWith --record FILE it is the name of a machine in that record instead, and may be\nleft out when there is one only.\n\nExample:\n  sisterboard demo gauge\n  sisterboard suspects gauge',
    )
    .showSuggestionAfterError()
    .exitOverride();

  const command = (
    name: string,
    what: string,
    example: string,
    work: () => Promise<Work>,
    ...words: readonly (readonly [string, string])[]
  ): Command => {
    const given = words.length > 0 ? words : [['[FOLDER]', 'a machine folder'] as const];
    const made = root
      .command(name)
      .description(what)
      .usage(`${given.map(([word]) => word.slice(1, -1)).join(' ')} [options]`);
    for (const [word, means] of given) made.argument(word, means);
    return made
      .option('--json', 'one JSON object, for other programs')
      .option('--ascii', 'plain ASCII signs')
      .option('--no-color', 'no colours')
      .addHelpText('after', `\nExample:\n  sisterboard ${example}`)
      .showHelpAfterError(`For example: sisterboard ${example}`)
      .action(perform(work));
  };
  const record = ['--record <FILE>', 'FOLDER is the name of a machine in this record'] as const;
  const usual = ['--record <FILE>', 'the record; without it the usual one'] as const;
  const unit = ['--unit <ID>', 'the unit; without it the faulty one, if there is one only'] as const;
  const condition = ['--condition <NAME>', 'in this state only'] as const;
  const ambient = [
    '--ambient <CELSIUS>',
    'room temperature; without it the one that the folder gives',
    celsius,
  ] as const;

  command(
    'check',
    'Reads the folder and lists what is wrong or doubtful.',
    'check gauge',
    async () => (await import('./commands/check.ts')).check,
  ).option(...record);
  command(
    'compare',
    'Each reading against what a sound unit would read, the largest departure first.',
    'compare gauge --unit south',
    async () => (await import('./commands/compare.ts')).compare,
  )
    .option(...record)
    .option(...unit)
    .option(...condition)
    .option('--all', 'sound readings too');
  command(
    'suspects',
    'Parts and failure modes by probability, with what speaks for and against.',
    'suspects gauge --unit south',
    async () => (await import('./commands/suspects.ts')).suspects,
  )
    .option(...record)
    .option(...unit)
    .option('--all', 'more suspects, and the reasons of more');
  command(
    'next',
    'Which reading to take next, and what each suspect would show there.',
    'next gauge --unit south',
    async () => (await import('./commands/next.ts')).next,
  )
    .option(...record)
    .option(...unit)
    .option('--all', 'more readings spelled out');
  command(
    'flow',
    'What drives each point, the loops, and which stage has good inputs and a bad output.',
    'flow gauge --point BIT8',
    async () => (await import('./commands/flow.ts')).flow,
  )
    .option(...record)
    .option('--point <POINT>', 'the way back from this point to the edge', (point: string) => [point])
    .option('--board <BOARD>', 'of this board only')
    .option('--unit <ID>', 'how its readings look, and the stage that they name')
    .option('--all', 'every way around a loop');
  command(
    'sound',
    'Levels of a sound unit with their spreads.',
    'sound gauge --condition "counter 0"',
    async () => (await import('./commands/levels.ts')).sound,
  )
    .option(...record)
    .option(...condition)
    .option(...ambient)
    .option('--all', 'pins too');
  command(
    'expect',
    'What each point would read, of a sound unit or with a fault.',
    'expect gauge --condition "counter 0" --fault ADD/Q3:short-ce',
    async () => (await import('./commands/levels.ts')).expect,
  )
    .option(...record)
    .option(...condition)
    .option('--fault <PART:MODE>', 'with this part failed in this way')
    .option(...ambient)
    .option('--all', 'pins too');
  command(
    'what-if',
    'What a fault would change, the largest change first.',
    'what-if gauge --fault ADD/Q3:short-ce',
    async () => (await import('./commands/levels.ts')).whatIfCommand,
  )
    .option(...record)
    .requiredOption('--fault <PART:MODE>', 'this part failed in this way')
    .option(...condition)
    .option(...ambient)
    .option('--all', 'every point');
  command(
    'waves',
    'Waveforms as expected in a running state, of a sound unit or with a fault.',
    'waves gauge --condition counting --fault CLK/C1:open',
    async () => (await import('./commands/waves.ts')).waves,
  )
    .option(...record)
    .requiredOption('--condition <NAME>', 'the state')
    .option('--fault <PART:MODE>', 'with this part failed in this way')
    .option(
      '--point <POINT>',
      'at this point; may stand several times',
      (point: string, others: string[] = []) => [...others, point],
    )
    .option(...ambient)
    .option('--all', 'every point that moves');
  captureCommands(command);
  root
    .command('serve')
    .description('Opens the record and serves the workbench to a browser on this machine.')
    .usage('[options]')
    .option('--record <FILE>', 'the record; without it the usual one, made on the first start')
    .option('--port <NUMBER>', 'instead of 4175', portNumber)
    .option('--no-browser', 'only print the address')
    .addHelpText('after', '\nExample:\n  sisterboard serve')
    .showHelpAfterError('For example: sisterboard serve --no-browser')
    .action(serving);
  command(
    'import',
    'Takes a machine folder into the record, which is made where there is none.',
    'import gauge',
    async () => (await import('./commands/record.ts')).importCommand,
    ['<FOLDER>', 'a machine folder'],
  )
    .option(...usual)
    .option('--name <NAME>', 'what the machine is called in the record');
  command(
    'export',
    'Writes a machine of the record to a new folder.',
    'export "Harbour tide gauge totaliser" --to gauge',
    async () => (await import('./commands/record.ts')).exportCommand,
    ['[NAME]', 'a machine in the record; may be left out when there is one only'],
  )
    .option(...usual)
    .requiredOption('--to <FOLDER>', 'the folder, which is not there yet');
  command(
    'backup',
    'Copies the record into a new file and reads the copy back.',
    'backup workshop-2026.sisterboard',
    async () => (await import('./commands/record.ts')).backupCommand,
    ['<FILE>', 'the copy, which is not there yet'],
  ).option(...usual);
  command(
    'restore',
    'Puts a backup in the place of the record, and keeps what stood there.',
    'restore workshop-2026.sisterboard',
    async () => (await import('./commands/record.ts')).restoreCommand,
    ['<FILE>', 'the backup'],
  ).option(...usual);
  command(
    'demo',
    'Writes the demo machine to a new folder.',
    'demo gauge',
    async () => (await import('./commands/demo.ts')).demo,
    ['<FOLDER>', 'the folder, which is not there yet'],
  )
    .option('--scenario <NAME>', 'what the keeper complains of; see below')
    .option('--seed <NUMBER>', 'two other units of the same type', wholeNumber)
    .addOption(
      new Option('--readings <EXTENT>', 'of a first evening, or of every point').choices(['evening', 'all']),
    )
    .addHelpText('after', `\nScenarios:\n${SCENARIOS.map((name) => `  ${name}`).join('\n')}`);
  return root;
}

/** Those of the demo's script, which is not loaded for a word of help. */
export const SCENARIOS = [
  'fourteen too many',
  'fours get lost',
  'tens step by chance',
  'deaf to the float',
  'hangs after an hour',
  'misses in the cold',
  'after the thunderstorm',
  'one wrong total',
  'two and three by turns',
  'no eight',
  'clock stands',
  'clock too fast',
  'deaf at good levels',
];

function wholeNumber(text: string): number {
  const value = /^\d{1,15}$/.test(text) ? Number(text) : Number.NaN;
  if (Number.isSafeInteger(value)) return value;
  throw new InvalidArgumentError('It is a whole number, such as 7.');
}

/** What a room can be; beyond it somebody has left out a point. */
const COLDEST = -40;
const HOTTEST = 80;

function celsius(text: string): number {
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (value >= COLDEST && value <= HOTTEST) return value;
  throw new InvalidArgumentError(`It is degrees Celsius from ${COLDEST} to ${HOTTEST}, such as 31.5.`);
}

function portNumber(text: string): number {
  const value = /^\d{1,5}$/.test(text) ? Number(text) : Number.NaN;
  if (value >= 0 && value < 65_536) return value;
  throw new InvalidArgumentError('It is a whole number from 0 to 65535; 0 takes any free one.');
}
