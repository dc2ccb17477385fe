import { formatFindings } from '../../machine/index.ts';
import { checkFolder, type FolderCheck } from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { plural } from '../numbers.ts';

export async function check(call: Call): Promise<void> {
  const found = await checkFolder(call.place);
  if (call.options.json) {
    const { errors, warnings, findings } = found;
    call.json({ errors, warnings, findings });
  } else {
    call.lines(checkLines(call, found));
  }
  if (found.errors > 0) call.exitCode = 2;
}

function checkLines(call: Call, { machine, findings, errors, warnings, counts }: FolderCheck): string[] {
  const lines = formatFindings(findings)
    .split('\n')
    .flatMap((line) => (line === '' ? [] : call.wrap(line, '', '  ')));
  if (lines.length > 0) lines.push('');
  const verdict =
    errors > 0
      ? `${plural(errors, 'error')} to mend first, ${plural(warnings, 'warning')}.`
      : warnings > 0
        ? `in order, with ${plural(warnings, 'warning')}.`
        : 'in order.';
  lines.push(...call.wrap(`${machine?.name ?? call.folder}: ${verdict}`).map(call.paint.bold));
  const { boards, parts, conditions, points, units, readings } = counts;
  const has = [
    plural(boards, 'board'),
    plural(parts, 'part'),
    plural(conditions, 'condition'),
    plural(points, 'point'),
    plural(units, 'unit'),
    plural(readings, 'reading'),
  ];
  lines.push(...call.wrap(`${has.join(', ')}.`));
  return lines;
}
