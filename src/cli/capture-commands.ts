import { type Command, Option } from 'commander';
import type { Work } from './run.ts';

/** Declares a command: see `program`. */
type Declare = (
  name: string,
  what: string,
  example: string,
  work: () => Promise<Work>,
  ...words: readonly (readonly [string, string])[]
) => Command;

const several = (value: string, before: readonly string[] = []): readonly string[] => [...before, value];

/** Commands about files of oscilloscopes, sound cards and logic analysers. */
export function captureCommands(command: Declare): void {
  const form = (made: Command): Command =>
    made
      .option('--separator <SIGN>', 'between cells: , ; tab or space')
      .option('--decimal <SIGN>', 'decimal sign: . or ,')
      .option('--interval <SECONDS>', 'from sample to sample, such as 1u, where there are no times')
      .option('--probe <CHANNEL=FACTOR>', 'a probe that the instrument did not know of', several)
      .option('--offset <CHANNEL=VALUE>', 'added to each value', several)
      .option('--units <CHANNEL=UNIT>', 'what its numbers are in, such as mV; of the times, too', several)
      .option('--full-scale <VOLTS>', 'of a sound file');
  form(
    command(
      'capture',
      'Says what a file of an oscilloscope, a sound card or a logic analyser holds, and puts it on record.',
      'capture scope.csv --probe CH1=10 --into gauge --unit south --point CH1=STEP',
      async () => (await import('./commands/capture.ts')).capture,
      ['<FILE>', 'a text table, WAV or value changes (VCD)'],
    )
      .option('--into <FOLDER>', 'put it into this machine folder')
      .option('--record <FILE>', 'put it into this record; --into is then the name of a machine')
      .option('--unit <ID>', 'the unit that it is of')
      .option('--condition <NAME>', 'the state in which it was taken')
      .option('--point <CHANNEL=POINT>', 'the point that a channel was on', several)
      .option('--taken-at <TIME>', 'date, or date and time, as 1968-05-14T09:30')
      .option('--instrument <NAME>', 'what it was taken with')
      .option('--note <TEXT>', 'whatever else there is to say'),
  );
  const stretch = ['--window <FROM..TO>', 'this stretch of time only, such as 1m..2m'] as const;
  const channel = ['--channel <NAME>', 'this channel only, by name or number'] as const;
  form(
    command(
      'measure',
      'Levels, edges and pulses of each channel, each figure with its uncertainty.',
      'measure scope.csv --channel CH1',
      async () => (await import('./commands/measure.ts')).measure,
      ['<FILE>', 'a text table, WAV or value changes (VCD)'],
    )
      .option(...channel)
      .option(...stretch)
      .addOption(
        new Option('--polarity <SIGN>', 'which way a pulse goes; positive without it').choices([
          'positive',
          'negative',
        ]),
      ),
  );
  form(
    command(
      'match',
      'Where the same capture of two units first differs, how, and by how much.',
      'match north.csv south.csv --align edges',
      async () => (await import('./commands/match.ts')).match,
      ['<FILE>', 'of the healthy unit'],
      ['<FILE2>', 'of the other one'],
    )
      .option(...channel)
      .addOption(
        new Option('--align <BY>', 'how one is laid on the other; the common trigger without it').choices([
          'trigger',
          'edges',
          'likeness',
        ]),
      )
      .option('--rate <PERCENT>', 'by how much the units’ clocks may differ; 0 without it')
      .option('--tolerance <SECONDS>', 'by how much edges may be off')
      .option(...stretch)
      .option('--word <BITS>', 'compare words of so many bits, read at the clock, the first from FROM on')
      .option('--clock <NAME>', 'the channel of the clock')
      .addOption(
        new Option('--edge <DIRECTION>', 'of the clock, at which a bit counts').choices([
          'rising',
          'falling',
        ]),
      )
      .addOption(
        new Option('--order <FIRST>', 'which bit of a word comes first; the least without it').choices([
          'least',
          'most',
        ]),
      )
      .option('--all', 'every difference'),
  );
}
