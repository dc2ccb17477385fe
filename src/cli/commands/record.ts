import { usualRecordPath } from '../../records/index.ts';
import { backUp, exportMachine, importMachine, restore } from '../../workbench/index.ts';
import { type Call, shellWord } from '../call.ts';
import { plural } from '../numbers.ts';

/** The record that was named, or the usual one. */
function recordOf(call: Call): string {
  return call.options.record ?? usualRecordPath();
}

// Lines with paths are not broken, so that they can be copied.

export async function importCommand(call: Call): Promise<void> {
  const record = recordOf(call);
  const machine = await importMachine(call.folder, record, call.options.name);
  if (call.options.json) {
    call.json({ record, machine });
    return;
  }
  const { name, parts, readings } = machine;
  call.lines([
    `${name} is in the record ${record}, with ${plural(parts, 'part')} and ${plural(readings, 'reading')}.`,
  ]);
}

export async function exportCommand(call: Call): Promise<void> {
  const folder = call.options.to!;
  const place = { record: recordOf(call), machine: call.folder || undefined };
  const name = await exportMachine(place, folder, call.signal);
  if (call.options.json) {
    call.json({ name, folder });
    return;
  }
  call.lines([`${name} is in ${folder}: sisterboard check ${shellWord(folder)}`]);
}

export async function backupCommand(call: Call): Promise<void> {
  const record = recordOf(call);
  const { bytes } = await backUp(record, call.folder);
  if (call.options.json) {
    call.json({ record, file: call.folder, bytes });
    return;
  }
  const size = `${Math.max(1, Math.round(bytes / 1024))} kB`;
  call.lines([`${call.folder} is a copy of the record ${record}, ${size}, read back and whole.`]);
}

export async function restoreCommand(call: Call): Promise<void> {
  const record = recordOf(call);
  const { kept } = await restore(call.folder, record);
  if (call.options.json) {
    call.json({ record, file: call.folder, kept: kept ?? null });
    return;
  }
  call.lines([`The record ${record} is that of ${call.folder}.`]);
  if (kept !== undefined) call.lines([`What stood there is kept: ${kept}`]);
}
