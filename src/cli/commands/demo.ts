import { writeDemo } from '../../workbench/index.ts';
import { type Call, shellWord } from '../call.ts';

export async function demo(call: Call): Promise<void> {
  const { scenario, seed, readings } = call.options;
  if (readings === 'all') call.note('Every point in every state of both units: this takes some seconds.');
  const symptom = await writeDemo(
    call.folder,
    {
      ...(scenario !== undefined && { scenario }),
      ...(seed !== undefined && { seed }),
      ...(readings !== undefined && { extent: readings }),
    },
    call.signal,
  );
  if (call.options.json) {
    call.json(symptom === undefined ? { folder: call.folder } : { folder: call.folder, symptom });
    return;
  }
  call.lines([
    ...(symptom === undefined ? [] : [...call.wrap(symptom), '']),
    `The demo machine, invented, is in ${call.folder}. Ask it:`,
    `  sisterboard compare ${shellWord(call.folder)}`,
    `  sisterboard suspects ${shellWord(call.folder)}`,
    `  sisterboard next ${shellWord(call.folder)}`,
  ]);
}
