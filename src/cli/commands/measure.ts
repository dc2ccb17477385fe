import { formatFindings } from '../../machine/index.ts';
import {
  type Estimate,
  isMeasured,
  type LogicTrace,
  logicEdges,
  type Measurement,
  type MeasurementOptions,
  measurement,
  type StateLevels,
  type TimeWindow,
  type Trace,
} from '../../waveform/index.ts';
import { channelNamed, openCapture } from '../../workbench/index.ts';
import { type Amounts, amounts } from '../amounts.ts';
import type { Call } from '../call.ts';
import { bad, correctionsOf, windowOf } from '../capture-options.ts';
import { plural } from '../numbers.ts';
import { paragraphs } from '../table.ts';
import { logicStrip, traceStrip } from '../trace-strip.ts';
import { timesOf } from '../trace-times.ts';

const WIDEST_STRIP = 72;
/** Levels of a staircase that are listed. */
const MOST_LEVELS = 16;

/** What is measured of a trace: what it is called, its unit (`1` for a share), and its figure. */
type Row = readonly [name: string, unit: string, estimate: Estimate];

export async function measure(call: Call): Promise<void> {
  const corrections = correctionsOf(call.options);
  const { channel, polarity = 'positive' } = call.options;
  const window = windowOf(call.options);
  const options: MeasurementOptions = { polarity, ...(window === undefined ? {} : { window }) };
  const { file, channels, findings } = await call.withFile((work) =>
    openCapture(call.folder, corrections, work),
  );
  const names = channels.map(({ name }) => name);
  const wanted = channel === undefined ? channels : [channels[channelNamed(file, names, channel)]!];
  for (const one of wanted) refuseOutside(call, file, one, window);
  if (call.options.json) {
    call.json({
      file,
      channels: wanted.map((one) => ('values' in one ? traceJson(one, options) : logicJson(one, window))),
      findings,
    });
    return;
  }
  call.lines(
    paragraphs(
      ...wanted.map((one) =>
        'values' in one ? traceLines(call, one, options) : logicLines(call, one, window),
      ),
      findings.length === 0
        ? []
        : formatFindings(findings)
            .split('\n')
            .flatMap((line) => call.wrap(line, '  ', '    '))
            .map(call.paint.caution),
    ),
  );
}

/** @throws InputError  `bad-option` where the channel has nothing of the stretch */
function refuseOutside(
  call: Call,
  file: string,
  channel: Trace | LogicTrace,
  window: TimeWindow | undefined,
): void {
  const { from, to } = within(channel, window);
  if (window === undefined || from <= to) return;
  const there = timeSpan(channel, amounts(call.figures.unicode));
  throw bad('--window', call.options.window!, `a stretch of ${file}, whose ${channel.name} is from ${there}`);
}

function rowsOf(trace: Trace, found: Measurement): readonly Row[] {
  const { levels, rise, fall, bursts } = found;
  const { unit } = trace;
  return [
    ['high level', unit, levels.high],
    ['low level', unit, levels.low],
    ['amplitude', unit, levels.amplitude],
    ['peak to peak', unit, found.peakToPeak],
    ['average', unit, found.average],
    ['rms', unit, found.rms],
    ['rise, 10 to 90 %', 's', rise.duration],
    ['fall, 90 to 10 %', 's', fall.duration],
    ['overshoot, rising', '1', rise.overshoot],
    ['overshoot, falling', '1', fall.overshoot],
    ['settling, rising', 's', rise.settling],
    ['settling, falling', 's', fall.settling],
    ['pulse width', 's', found.pulseDuration],
    ['period', 's', found.period],
    ['frequency', 'Hz', found.frequency],
    ['duty factor', '1', found.dutyFactor],
    ['jitter of the period', 's', found.periodJitter],
    ...('reason' in bursts
      ? []
      : ([
          ['pulses in a burst', '', bursts.pulses],
          ['burst', 's', bursts.duration],
          ['burst to burst', 's', bursts.period],
        ] satisfies Row[])),
  ];
}

function traceLines(call: Call, trace: Trace, options: MeasurementOptions): string[] {
  const { figures, paint, terminal } = call;
  const shown = amounts(figures.unicode);
  const found = measurement(trace, options);
  const { levels, rise, fall, pulseCount } = found;
  const rows = rowsOf(trace, found);
  const widest = Math.max(...rows.map(([name]) => name.length));
  const measured = rows.filter(([, , estimate]) => isMeasured(estimate));
  const unmeasured = rows.filter(([, , estimate]) => !isMeasured(estimate));
  return [
    paint.bold(`${trace.name}: ${plural(levels.count, 'sample')}, ${timeSpan(trace, shown, options.window)}`),
    ...stripLines(call, trace, levels, shown, options.window),
    '',
    ...measured.map(([name, unit, estimate]) => `  ${name.padEnd(widest)}  ${figure(shown, unit, estimate)}`),
    ...staircase(call, levels, trace.unit, shown, widest),
    `  ${'edges'.padEnd(widest)}  ${rise.count} rising, ${fall.count} falling; ${plural(pulseCount, 'pulse')}`,
    ...reasons(unmeasured)
      .flatMap((line) => call.wrap(line, '  ', '    '))
      .map(paint.quiet),
  ].map((line) => line.slice(0, Math.max(terminal.columns, line.length)));
}

/** `no whole period: period, frequency` */
function reasons(rows: readonly Row[]): string[] {
  const byReason = new Map<string, string[]>();
  for (const [name, , estimate] of rows) {
    if (isMeasured(estimate)) continue;
    byReason.set(estimate.reason, [...(byReason.get(estimate.reason) ?? []), name]);
  }
  return [...byReason].map(([reason, names]) => `${reason}: ${names.join('; ')}`);
}

function figure(shown: Amounts, unit: string, estimate: Estimate): string {
  if (unit !== '1' || !isMeasured(estimate)) return shown.estimate(estimate, unit);
  const { value, uncertainty, count } = estimate;
  return shown.estimate({ value: 100 * value, uncertainty: 100 * uncertainty, count }, '%');
}

/** The steps of a waveform of more than two levels. */
function staircase(
  { figures }: Call,
  { states }: StateLevels,
  unit: string,
  shown: Amounts,
  widest: number,
): string[] {
  if (states.length < 3) return [];
  const levels = states.slice(0, MOST_LEVELS).map(({ value }) => shown.amount(value, unit, 3));
  const more = states.length > MOST_LEVELS ? [figures.unicode ? '…' : '...'] : [];
  return [`  ${`${states.length} levels`.padEnd(widest)}  ${[...levels, ...more].join('  ')}`];
}

function timeSpan(channel: Trace | LogicTrace, { amount }: Amounts, window?: TimeWindow): string {
  const { from, to } = within(channel, window);
  return `${amount(from, 's')} to ${amount(to, 's')}`;
}

/** What there is of a channel in the stretch that was asked for, seconds. */
function within(channel: Trace | LogicTrace, window: TimeWindow | undefined): TimeWindow {
  const { from, to } = timesOf(channel);
  return { from: Math.max(from, window?.from ?? from), to: Math.min(to, window?.to ?? to) };
}

/** The trace between its extremes. */
function stripLines(
  { terminal, paint, figures }: Call,
  trace: Trace,
  { minimum, maximum }: StateLevels,
  { amount }: Amounts,
  window: TimeWindow | undefined,
): string[] {
  const { unit } = trace;
  const labels = [amount(maximum, unit, 3), amount(minimum, unit, 3)];
  const room = Math.max(...labels.map((label) => label.length));
  const width = Math.min(WIDEST_STRIP, terminal.columns - room - 4);
  const lines = traceStrip(trace, width, figures.unicode, window);
  return lines.map((line, i) => {
    const label = i === 0 ? labels[0]! : i === lines.length - 1 ? labels[1]! : '';
    return `  ${paint.quiet(label.padStart(room))}  ${line}`.trimEnd();
  });
}

function logicLines(call: Call, trace: LogicTrace, window?: TimeWindow): string[] {
  const shown = amounts(call.figures.unicode);
  const { name, width, instants } = trace;
  const head = `${name}: ${plural(instants.length, 'state')} of ${plural(width, 'bit')}, ${timeSpan(trace, shown, window)}`;
  if (width > 1) return [call.paint.bold(head)];
  const { rising, falling, period } = logicFigures(trace, window);
  return [
    call.paint.bold(head),
    `  ${logicStrip(trace, Math.min(WIDEST_STRIP, call.terminal.columns - 2), call.figures.unicode, window)}`,
    '',
    `  edges   ${rising} rising, ${falling} falling`,
    ...(period === undefined
      ? []
      : [`  period  ${shown.amount(period, 's')}, from rise to rise, in the mean`]),
  ];
}

function logicFigures(trace: LogicTrace, window: TimeWindow | undefined) {
  const { from, to } = within(trace, window);
  const seen = (direction: 'rising' | 'falling') =>
    logicEdges(trace, direction).filter((instant) => instant >= from && instant <= to);
  const rises = seen('rising');
  const falling = seen('falling').length;
  const rising = rises.length;
  return { rising, falling, period: rising < 2 ? undefined : (rises.at(-1)! - rises[0]!) / (rising - 1) };
}

function traceJson(trace: Trace, options: MeasurementOptions): object {
  const found = measurement(trace, options);
  const { levels, edges, rise, fall, bursts, ...rest } = found;
  const { low, high, amplitude, states, method, noise, quantum } = levels;
  const { from, to } = within(trace, options.window);
  return {
    ...{
      name: trace.name,
      unit: trace.unit,
      kind: 'trace',
      samples: levels.count,
      start: from,
      end: to,
    },
    levels: { method, low, high, amplitude, states, noise, quantum },
    ...{ rise, fall, ...rest, bursts },
    edges: { count: edges.count, mid: [...edges.mid], rising: [...edges.rising].map((one) => one === 1) },
  };
}

function logicJson(trace: LogicTrace, window: TimeWindow | undefined): object {
  const { name, width, instants } = trace;
  const { from, to } = within(trace, window);
  const edges = width === 1 ? logicFigures(trace, window) : undefined;
  return {
    ...{ name, unit: '', kind: 'logic', width, states: instants.length, start: from, end: to },
    ...(edges === undefined
      ? {}
      : { rising: edges.rising, falling: edges.falling, period: edges.period ?? null }),
  };
}
