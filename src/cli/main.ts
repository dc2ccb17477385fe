/**
 * The command line: arguments in, messages and exit codes out. What a command does lives in `workbench`;
 * each command loads it only when it is called, so that `--help` starts at once. Start with `run`.
 *
 * Exit codes: 0 answered, 2 the call or the input is wrong, 1 a fault of the program, 130 stopped with Ctrl-C.
 */

import { run } from './run.ts';
import { lineWidth, showsColours, showsUnicode } from './terminal.ts';

const { stdout, stderr, env, platform } = process;

// Whoever reads the answer may have seen enough: `sisterboard sound gauge | head`.
for (const stream of [stdout, stderr]) {
  stream.on('error', (error: NodeJS.ErrnoException) => {
    if (error.code === 'EPIPE') process.exit(0);
    throw error;
  });
}

// Once: a second Ctrl-C ends it on the spot, whatever it is at. Being told to end, or losing the terminal, is the same.
const stop = new AbortController();
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP']) {
  process.once(signal, () => stop.abort(new Error('stopped')));
}

process.exitCode = await run(
  process.argv.slice(2),
  {
    columns: lineWidth(env, stdout),
    unicode: showsUnicode(env, platform),
    colours: showsColours(env, stdout),
    out: (text) => stdout.write(text),
    err: (text) => stderr.write(text),
    progress: stderr.isTTY ? stderr : undefined,
  },
  stop.signal,
);
