/**
 * Writes one planted trial out as a machine folder, with the answer in a file beside it.
 *
 *   npx tsx bench/accuracy/write.ts BOARD SEED DIR [0|1|2]     the last: how many faults, 1 when not said
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { machineFiles } from '../../src/machine/index.ts';
import { trialBoard } from './boards/index.ts';
import { benchOf, machineWith, trialOf } from './trial.ts';

const [name, seed, folder, faults = '1'] = process.argv.slice(2);
if (name === undefined || seed === undefined || folder === undefined || !/^[012]$/.test(faults)) {
  console.error('write.ts BOARD SEED DIR [0|1|2]');
  process.exit(2);
}
const trial = trialOf(benchOf(trialBoard(name)), Number(seed), Number(faults) as 0 | 1 | 2);
mkdirSync(folder, { recursive: true });
const machine = machineWith(trial.bench.board.machine, trial.healthyReadings, trial.faultyReadings);
for (const [file, text] of machineFiles(machine)) writeFileSync(join(folder, file), text);
const answer = `${folder.replace(/\/+$/, '')}.answer.json`;
writeFileSync(
  answer,
  `${JSON.stringify({ board: name, seed: Number(seed), unit: machine.units[1]!.id, planted: trial.planted }, null, 2)}\n`,
);
console.log(
  `${folder}: ${machine.parts.length} parts, ${machine.readings.length} readings; the answer is in ${answer}`,
);
