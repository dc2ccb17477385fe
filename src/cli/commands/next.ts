import { type Machine, partNamed, pointNet, quantityOf } from '../../machine/index.ts';
import { CONFIDENT, confirmation, type NextAnswer, nextReadings } from '../../workbench/index.ts';
import { type Axis, axesOf, axisFor, cellOf, engraving, lensOver } from '../axis.ts';
import type { Call } from '../call.ts';
import { cautionAtPoint, ironLines } from '../cautions.ts';
import { minutes, percent, placeWords } from '../numbers.ts';
import {
  type Diagnosis,
  headline,
  partProbabilities,
  suspectName,
  suspectNames,
  suspectSign,
} from '../ranking.ts';
import { column } from '../strip-table.ts';
import { paragraphs, tableLines } from '../table.ts';

type NextReading = NextAnswer['readings'][number];

/** How many a program may choose from. */
const FOR_PROGRAMS = 12;
/** How many are looked at for a person, since many are alike. */
const FOR_PEOPLE = 120;
/** How many places are spelled out, and how many are named after them. */
const SPELLED_OUT = 3;
const SPELLED_OF_ALL = 10;
const NAMED = 5;
/** Readings of one wire whose bits differ by no more than this share are one place to a person. */
const ALIKE = 0.1;
/** Levels nearer together than this share of the scale are looked at through the lens. */
const LENS_BELOW = 0.2;
/** The worth of a reading stands no further from its name than this. */
const WIDEST_HEAD = 100;

export async function next(call: Call): Promise<void> {
  const machine = await call.machine();
  const limit = call.options.json ? FOR_PROGRAMS : FOR_PEOPLE;
  const answer = await call.withTable((work) => nextReadings(machine, call.options.unit, work, limit));
  if (!call.options.json) return call.lines(nextLines(call, machine, answer));
  call.sayUnit(answer);
  call.json({
    readings: answer.readings.map(({ condition, point, quantity, bits, minutes }) => {
      return { condition, point, quantity, bits, minutes };
    }),
  });
}

export function nextLines(
  call: Call,
  machine: Machine,
  { unit, taken, diagnosis, readings }: NextAnswer,
): string[] {
  const whose = taken ? `${unit.id}, the only unit called faulty` : unit.id;
  const count = machine.readings.filter((reading) => reading.unit === unit.id).length;
  const places = placesToRead(machine, unit.id, readings);
  const spelled = places.slice(0, call.options.all ? SPELLED_OF_ALL : SPELLED_OUT);
  const rest = places.slice(spelled.length, spelled.length + NAMED);
  const names = rest.map(({ reading }) => `${placeWords(reading)} in "${reading.condition}"`).join(', ');
  return paragraphs(
    [
      ...call.wrap(`${machine.name}: what to read next on ${whose}.`),
      ...call.wrap(headline(diagnosis, count)).map(call.paint.bold),
    ],
    groupLines(call, machine, diagnosis),
    confidentLines(call, machine, diagnosis),
    places.length === 0 ? call.wrap('No reading at a listed point would part the suspects any further.') : [],
    ...spelled.map((place, i) => readingLines(call, machine, diagnosis, place, i + 1)),
    rest.length > 0 ? call.wrap(`Then: ${names}.`) : [],
  );
}

/** The suspects that no reading parts, where that is the end of it. */
function groupLines(call: Call, machine: Machine, { group }: Diagnosis): string[] {
  if (group === undefined || group.length < 2) return [];
  return call.wrap(`No reading can part these: ${suspectNames(machine, group)}. Confirm them one by one.`);
}

/** What to see before a part that is as good as sure is taken out. */
function confidentLines(call: Call, machine: Machine, diagnosis: Diagnosis): string[] {
  const sure = partProbabilities(diagnosis).filter(({ probability }) => probability >= CONFIDENT);
  if (sure.length === 0) return [];
  return [
    ...sure.flatMap(({ part, mode }) => [
      ...call.wrap(`Before ${part} is unsoldered:`).map(call.paint.bold),
      ...call.wrap(`${confirmation(partNamed(machine, part), mode)}.`, '  '),
    ]),
    ...ironLines(call),
  ];
}

/** A reading, and where and when else the same would be learnt. */
interface Place {
  readonly reading: NextReading;
  /** Other points of the same wire, in the same state. */
  readonly elsewhere: readonly string[];
  /** Other states. */
  readonly otherStates: readonly string[];
}

/**
 * One place for each wire, as long as its points and states teach the same: a pin has its own say only where its joint is in
 * doubt, and a state only where it moves what is in question. Of states alike it is the one that the machine was last read in.
 */
function placesToRead(machine: Machine, unit: string, readings: readonly NextReading[]): Place[] {
  const state = lastState(machine, unit);
  const groups: NextReading[][] = [];
  for (const reading of readings) {
    const alike = groups.find(
      ([one]) =>
        pointNet(machine, one!.point) === pointNet(machine, reading.point) &&
        one!.quantity === reading.quantity &&
        Math.abs(one!.bits - reading.bits) <= ALIKE * one!.bits,
    );
    if (alike === undefined) groups.push([reading]);
    else alike.push(reading);
  }
  return groups.map((group) => {
    const quickest = group.filter(({ minutes }) => minutes === group[0]!.minutes);
    const reading = quickest.find(({ condition }) => condition === state) ?? group[0]!;
    const here = group.filter(({ condition }) => condition === reading.condition);
    return {
      reading,
      elsewhere: here.map(({ point }) => point).filter((point) => point !== reading.point),
      otherStates: [...new Set(group.map(({ condition }) => condition))].filter(
        (condition) => condition !== reading.condition,
      ),
    };
  });
}

/** The state that the unit was last read in; by the dates, the later row where they are the same. */
function lastState(machine: Machine, unit: string): string | undefined {
  return machine.readings
    .filter((reading) => reading.unit === unit)
    .reduce<(typeof machine.readings)[number] | undefined>(
      (last, one) => (last === undefined || one.takenAt >= last.takenAt ? one : last),
      undefined,
    )?.condition;
}

function readingLines(
  call: Call,
  machine: Machine,
  diagnosis: Diagnosis,
  { reading, elsewhere, otherStates }: Place,
  order: number,
): string[] {
  const { paint, terminal } = call;
  const also = elsewhere.length === 0 ? '' : `, or ${elsewhere.join(', ')},`;
  const what = reading.quantity === 'V' ? '' : `${wishWords(reading.quantity)} at `;
  const head = `${order}  Read ${what}${reading.point}${also} in "${reading.condition}"`;
  const worth = `${reading.bits.toFixed(2)} bits, ${minutes(reading.minutes)}`;
  const gap = Math.min(terminal.columns, WIDEST_HEAD) - head.length - worth.length;
  const lines =
    gap >= 2
      ? [paint.bold(head) + ' '.repeat(gap) + worth]
      : [...call.wrap(head, '', '   ').map(paint.bold), `   ${worth}`];
  const caution = cautionAtPoint(call, machine, reading.point, '   ');
  if (caution.length > 0) lines.push(...caution);
  else if (reading.caution !== '') lines.push(...call.wrap(reading.caution, '   '));
  if (otherStates.length > 0) {
    const named = otherStates
      .slice(0, 2)
      .map((condition) => `"${condition}"`)
      .join(', ');
    const more = otherStates.length - 2;
    lines.push(...call.wrap(`Nearly as good in ${named}${more > 0 ? ` and ${more} more` : ''}.`, '   '));
  }
  return [...lines, ...wouldLines(call, machine, diagnosis, reading)];
}

/** What to look for on the screen of an oscilloscope. */
function wishWords(quantity: string): string {
  if (quantity === 'moves') return 'whether it moves';
  return quantity.startsWith('delay:') ? `the delay after ${quantity.slice(6)}` : `the ${quantity}`;
}

/** What each suspect would show: the figures, and the suspect's sign on the scale. */
function wouldLines(
  call: Call,
  machine: Machine,
  diagnosis: Diagnosis,
  { would, quantity }: NextReading,
): string[] {
  const { paint, figures, terminal } = call;
  const axis = axisOfWould(machine, would);
  const rows = would.map((one) => ({ ...one, name: suspectSign(diagnosis, one.suspect, figures.unicode) }));
  return tableLines(
    [
      column('', 'left', rows, ({ name }) => name),
      column('if', 'left', rows, ({ suspect }) => suspectName(machine, suspect)),
      column('', 'right', rows, ({ probability }) => percent(probability)),
      column('would read', 'right', rows, ({ mean, sigma }) => figures.level(mean, sigma, quantity)),
      column('', 'left', rows, ({ sigma }) => figures.spread(sigma, quantity)),
    ],
    terminal.columns - 1,
    paint.quiet,
    // The scale is one of volts.
    quantityOf(quantity)?.unit === 'V'
      ? {
          before: 5,
          title: (width) => engraving(axis, width, figures),
          cell(i, width) {
            const cells = new Array<string>(width).fill(' ');
            const zero = figures.unicode ? '┊' : ':';
            if (axis.low < 0 && axis.high > 0) cells[cellOf(axis, width, 0)] = paint.quiet(zero);
            cells[cellOf(axis, width, rows[i]!.mean)] = paint.bold(rows[i]!.name.charAt(0));
            return cells.join('');
          },
        }
      : undefined,
  ).map((line) => ` ${line}`);
}

/** The scale of the rails, or a lens where that would set the suspects' levels on top of one another. */
function axisOfWould(machine: Machine, would: NextReading['would']): Axis {
  const means = would.map(({ mean }) => mean);
  const furthest = means.reduce((far, mean) => (Math.abs(mean) > Math.abs(far) ? mean : far), 0);
  const axis = axisFor(axesOf(machine), furthest);
  const range = Math.max(...means) - Math.min(...means);
  if (range > LENS_BELOW * (axis.high - axis.low)) return axis;
  return lensOver(would.flatMap(({ mean, sigma }) => [mean - 2 * sigma, mean + 2 * sigma]));
}
