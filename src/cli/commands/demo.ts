import { writeDemo } from '../../workbench/index.ts';
import { type Call, shellWord } from '../call.ts';

export async function demo(call: Call): Promise<void> {
  await writeDemo(call.folder, undefined, call.signal);
  if (call.options.json) {
    call.json({ folder: call.folder });
    return;
  }
  call.lines([
    `The demo machine, invented, is in ${call.folder}. Ask it:`,
    `  sisterboard compare ${shellWord(call.folder)}`,
    `  sisterboard suspects ${shellWord(call.folder)}`,
    `  sisterboard next ${shellWord(call.folder)}`,
  ]);
}
