import type { TextUnderstanding } from '../../capture/index.ts';
import { type Finding, formatFindings } from '../../machine/index.ts';
import { InputError } from '../../records/index.ts';
import type { LogicTrace, Trace } from '../../waveform/index.ts';
import {
  type CaptureFile,
  type CaptureHead,
  captureHead,
  openCapture,
  takeCaptureFile,
} from '../../workbench/index.ts';
import { amounts } from '../amounts.ts';
import { type Call, shellWord } from '../call.ts';
import { correctionsOf, pairsOf } from '../capture-options.ts';
import { plural } from '../numbers.ts';
import { column } from '../strip-table.ts';
import { paragraphs, tableLines } from '../table.ts';
import { timesOf } from '../trace-times.ts';

export async function capture(call: Call): Promise<void> {
  const { into, record } = call.options;
  if (into !== undefined || record !== undefined) await takeIn(call);
  else await show(call);
}

async function show(call: Call): Promise<void> {
  const corrections = correctionsOf(call.options);
  for (const option of ['point', 'unit', 'condition', 'takenAt', 'instrument', 'note'] as const) {
    if (call.options[option] === undefined) continue;
    const name = option.replace(/[A-Z]/, (letter) => `-${letter.toLowerCase()}`);
    throw new InputError('bad-option', `--${name} goes with --into or --record: nothing is put on record`);
  }
  const head = await captureHead(call.folder, corrections);
  if (head.faults.length > 0) return unread(call, head);
  const file = await call.withFile((work) => openCapture(call.folder, corrections, work));
  if (call.options.json) {
    const { kind, size, understanding = null, findings } = file;
    call.json({
      file: file.file,
      kind,
      size,
      understanding,
      channels: file.channels.map(channelJson),
      findings,
    });
    return;
  }
  call.lines(
    paragraphs(
      [...call.wrap(headline(call, file)), ...formLines(call, file.understanding)],
      channelLines(call, file),
      doubtLines(call, file.understanding, file.findings),
      rowLines(call, head),
      [
        'To put it on record:',
        `  sisterboard capture ${shellWord(call.folder)} --into FOLDER --unit ID --condition NAME --point CHANNEL=POINT`,
      ],
    ),
  );
}

/** Something must be said before it can be read. */
function unread(call: Call, head: CaptureHead): void {
  const { kind, understanding, faults } = head;
  call.exitCode = 2;
  if (call.options.json) {
    call.json({ file: call.folder, kind, understanding: understanding ?? null, faults });
    return;
  }
  call.note(faults.map((fault) => `${call.folder}: ${fault}${mend(fault)}`).join('\n'));
  call.lines(paragraphs(formLines(call, understanding), rowLines(call, head)));
}

function mend(fault: string): string {
  return /interval/.test(fault) ? '; say it with --interval, such as --interval 1u' : '';
}

async function takeIn(call: Call): Promise<void> {
  const { into, record, unit, condition, takenAt, instrument, note, point = [] } = call.options;
  const stated = Object.entries({ unit, condition, takenAt, instrument, note });
  const facts = Object.fromEntries(stated.filter(([, value]) => value !== undefined));
  const place = record === undefined ? into! : { record, machine: into };
  const points = new Map(pairsOf('--point', point));
  const corrections = correctionsOf(call.options);
  const taken = await call.withFile((work) =>
    takeCaptureFile(call.folder, place, { facts, points, corrections }, work),
  );
  const { file, machine, kind, understanding, findings, channels } = taken;
  if (call.options.json) {
    const shown = channels.map(({ name, point: at }) => ({ name, point: at }));
    call.json({ file, machine, kind, understanding: understanding ?? null, channels: shown, findings });
    return;
  }
  const on = channels.flatMap(({ name, point: at }) => (at === '' ? [] : [`${name} on ${at}`]));
  call.lines(
    paragraphs(
      [
        `${file} is in ${machine}${record === undefined ? '' : `, in the record ${record}`}.`,
        ...call.wrap(
          `${plural(channels.length, 'channel')}${on.length === 0 ? '; none is said to be on a point' : `: ${on.join(', ')}`}.`,
        ),
        ...formLines(call, understanding),
      ],
      doubtLines(call, understanding, findings),
    ),
  );
}

const KINDS = { text: 'a table', wav: 'a sound file', vcd: 'value changes' };

function headline({ figures }: Call, { file, kind, channels }: CaptureFile): string {
  const { amount } = amounts(figures.unicode);
  const [first] = channels;
  const what = `${file}: ${KINDS[kind]} of ${plural(channels.length, 'channel')}`;
  if (first === undefined) return `${what}.`;
  const { from, to, step } = timesOf(first);
  const every = step === undefined ? '' : `, one every ${amount(step, 's')}`;
  return `${what}${every}, from ${amount(from, 's')} to ${amount(to, 's')}.`;
}

const SIGNS: Readonly<Record<string, string>> = {
  ...{ ',': 'comma', ';': 'semicolon', '\t': 'tab', ' ': 'spaces', '.': 'point' },
};

function formLines(call: Call, understanding: TextUnderstanding | undefined): string[] {
  if (understanding === undefined) return [];
  const { separator, decimal, headerLines, encoding, interval, columns } = understanding;
  const skipped = columns.filter(({ role }) => role === 'skip').length;
  const words = [
    `cells parted by ${SIGNS[separator]}`,
    `decimal ${SIGNS[decimal]}`,
    `${plural(headerLines, 'line')} of heading`,
    encoding.toUpperCase(),
    ...(columns.some(({ role }) => role === 'time')
      ? ['a column of times']
      : interval === undefined
        ? []
        : ['no column of times']),
    ...(skipped > 0 ? [`${plural(skipped, 'column')} passed over`] : []),
  ];
  return call.wrap(`${words.join(', ')}.`, '  ');
}

function channelLines(call: Call, { channels, understanding }: CaptureFile): string[] {
  const { amount } = amounts(call.figures.unicode);
  const columns = understanding?.columns.filter(({ role }) => role === 'channel') ?? [];
  const rows = channels.map((channel, i) => ({ channel, facts: channelJson(channel), form: columns[i] }));
  return tableLines(
    [
      column('channel', 'left', rows, ({ facts }) => facts.name),
      column('', 'left', rows, ({ channel }) =>
        'width' in channel ? `${plural(channel.width, 'bit')}` : '',
      ),
      column('samples', 'right', rows, ({ facts }) => facts.samples.toLocaleString('en')),
      column('least', 'right', rows, ({ facts }) =>
        facts.min === null ? '' : amount(facts.min, facts.unit),
      ),
      column('greatest', 'right', rows, ({ facts }) =>
        facts.max === null ? '' : amount(facts.max, facts.unit),
      ),
      column('probe', 'right', rows, ({ form }) => (form && form.probe !== 1 ? String(form.probe) : '')),
      column('offset', 'right', rows, ({ form, facts }) =>
        form && form.offset !== 0 ? amount(form.offset, facts.unit) : '',
      ),
    ],
    call.terminal.columns,
    call.paint.quiet,
  );
}

function doubtLines(
  call: Call,
  understanding: TextUnderstanding | undefined,
  findings: readonly Finding[],
): string[] {
  const doubts = understanding?.doubts ?? [];
  const found = findings.length === 0 ? [] : formatFindings(findings).split('\n');
  const lines = [...doubts.map((doubt) => `doubtful: ${doubt}`), ...found];
  return lines.flatMap((line) => call.wrap(line, '  ', '    ')).map(call.paint.caution);
}

/** Of the first rows as many letters as fit. */
function rowLines(call: Call, { rows, understanding }: CaptureHead): string[] {
  if (rows.length === 0) return [];
  const digits = String(rows.at(-1)!.line).length;
  return [
    'The first rows:',
    ...rows.map(({ line, cells }) => {
      const head = understanding !== undefined && line <= understanding.headerLines;
      const text = `  ${String(line).padStart(digits)}  ${cells.map(oneLine).join(call.figures.unicode ? ' │ ' : ' | ')}`;
      const cut = text.slice(0, call.terminal.columns);
      return head ? call.paint.quiet(cut) : cut;
    }),
  ];
}

function oneLine(cell: string): string {
  return cell.replaceAll(/\p{Cc}+/gu, ' ');
}

export function channelJson(channel: Trace | LogicTrace) {
  const { name } = channel;
  const { from: start, to: end, step = null } = timesOf(channel);
  if (!('values' in channel)) {
    const { width, instants } = channel;
    const none = { min: null, max: null };
    return { name, unit: '', kind: 'logic', width, samples: instants.length, start, end, step, ...none };
  }
  const { unit, values } = channel;
  let [min, max] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) {
    if (value < min) min = value;
    if (value > max) max = value;
  }
  const ends = min <= max ? { min, max } : { min: null, max: null };
  return { name, unit, kind: 'trace', width: 0, samples: values.length, start, end, step, ...ends };
}
