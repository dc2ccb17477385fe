import { type Machine, partNamed, type Unit } from '../../machine/index.ts';
import {
  confirmation,
  modeWords,
  type SuspectsAnswer,
  suspectsOf,
  suspectWords,
} from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { ironLines } from '../cautions.ts';
import { percent, placeWords, plural, spreadsOff } from '../numbers.ts';
import { type Diagnosis, headline, partNames, type Suspect, suspectNames } from '../ranking.ts';
import { letter, shares, staff } from '../staff.ts';
import { column } from '../strip-table.ts';
import { paragraphs, tableLines } from '../table.ts';

type Reason = Suspect['reasons'][number];

const MOST_SUSPECTS = 8;
const MOST_OF_ALL = 40;
/** A suspect below this is left to the others, unless it is among the first three. */
const WORTH_A_LINE = 0.001;
/** A suspect below this is not worth its reasons; the first one is worth them sooner. */
const WORTH_REASONS = 0.05;
const LEAD_WORTH_REASONS = 0.01;
const MOST_EXPLAINED = 3;
const MOST_FOR = 4;
const MOST_AGAINST = 2;
/** A reading speaks for or against from here on: twice as likely one way as the other. */
const SPEAKS = Math.log(2);
/** Narrower than this, words go under their part. */
const NARROWEST_WORDS = 24;
const LONGEST_STAFF = 100;

export async function suspects(call: Call): Promise<void> {
  const machine = await call.machine();
  const answer = await call.withTable((work) => suspectsOf(machine, call.options.unit, work));
  if (!call.options.json) return call.lines(suspectLines(call, machine, answer));
  const { suspects, unexplained, sound } = answer.diagnosis;
  call.sayUnit(answer);
  call.json({ suspects: suspects.map(jsonSuspect), unexplained, sound });
}

export function jsonSuspect({ parts, modes, probability }: Suspect): object {
  return parts.length === 1 ? { part: parts[0], mode: modes[0], probability } : { parts, modes, probability };
}

export function suspectLines(
  call: Call,
  machine: Machine,
  { unit, taken, diagnosis }: SuspectsAnswer,
): string[] {
  const count = machine.readings.filter((reading) => reading.unit === unit.id).length;
  const title = `${machine.name}: suspects in ${unit.id} from ${plural(count, 'reading')}${taken ? ', the only unit called faulty' : ''}.`;
  const explained = explainedSuspects(diagnosis, call.options.all === true);
  const known = new Map<string, string>();
  return paragraphs(
    [...call.wrap(title), ...call.wrap(headline(diagnosis, count)).map(call.paint.bold)],
    ...rankingBlocks(call, machine, diagnosis),
    ...explained.map(({ suspect, name }) => reasonLines(call, machine, unit, suspect, name, known)),
    remarkLines(call, machine, diagnosis),
    explained.length > 0 ? ironLines(call) : [],
  );
}

/** The staff, then the ranking; what leads stands first, and sound and none of these are always listed. */
function rankingBlocks(call: Call, machine: Machine, diagnosis: Diagnosis): string[][] {
  const { paint, figures, terminal } = call;
  const shown = diagnosis.suspects
    .slice(0, call.options.all ? MOST_OF_ALL : MOST_SUSPECTS)
    .filter(({ probability }, i) => i < 3 || probability >= WORTH_A_LINE);
  const rest = diagnosis.suspects.slice(shown.length);
  const others = rest.reduce((sum, { probability }) => sum + probability, 0);
  const row = (part: string, probability: number, what: string, name = '') => ({
    name,
    probability,
    part,
    what,
  });
  const unexplained = row('none of these', diagnosis.unexplained, 'something that is not modelled');
  const sound = row('sound', diagnosis.sound, 'nothing is wrong');
  const rows = [
    ...shown.map((one, i) => row(partNames(one), one.probability, suspectWords(machine, one), letter(i))),
    ...(rest.length > 0 ? [row('others', others, plural(rest.length, 'other fault'))] : []),
    unexplained,
    sound,
  ];
  const leader = [...rows.slice(0, 1), unexplained, sound].reduce((best, one) =>
    one.probability > best.probability ? one : best,
  );
  const partWidth = Math.max(...rows.map(({ part }) => part.length));
  const ranking = [leader, ...rows.filter((one) => one !== leader)].flatMap((one) => {
    const place = `  ${one.name.padEnd(2)}${percent(one.probability).padStart(6)}  ${one.part.padEnd(partWidth)}  `;
    const lines =
      terminal.columns - place.length >= NARROWEST_WORDS
        ? call.wrap(one.what, place)
        : [place.trimEnd(), ...call.wrap(one.what, ' '.repeat(12))];
    return one === leader ? lines.map(paint.bold) : lines;
  });
  const cells = shares(
    [...shown.map(({ probability }) => probability), others, diagnosis.unexplained, diagnosis.sound],
    Math.min(terminal.columns, LONGEST_STAFF) - 4,
  );
  return [[`  ${staff(cells, shown.length, figures.unicode)}`], ranking];
}

/** The suspects that are worth their reasons: one a part, unless all are wanted, for a part is changed once. */
function explainedSuspects({ suspects }: Diagnosis, all: boolean): { suspect: Suspect; name: string }[] {
  const parts = new Set<string>();
  return suspects
    .slice(0, MOST_SUSPECTS)
    .map((suspect, i) => ({ suspect, name: letter(i) }))
    .filter(({ suspect }, i) => {
      if (!suspect.reasons.some(({ weight }) => Math.abs(weight) >= SPEAKS)) return false;
      if (suspect.probability < (i > 0 ? WORTH_REASONS : LEAD_WORTH_REASONS)) return false;
      const known = parts.has(partNames(suspect));
      parts.add(partNames(suspect));
      return all || !known;
    })
    .slice(0, all ? MOST_SUSPECTS : MOST_EXPLAINED);
}

/**
 * One suspect's reasons.
 *
 * @param name  its letter
 * @param known  tables shown before, with the letter of their suspect; taken note of
 */
function reasonLines(
  call: Call,
  machine: Machine,
  unit: Unit,
  suspect: Suspect,
  name: string,
  known: Map<string, string>,
): string[] {
  const modes = suspect.modes.map((mode, i) => modeWords(mode, partNamed(machine, suspect.parts[i]!)?.kind));
  const title = `${partNames(suspect)}: ${modes.join('; ')}, ${percent(suspect.probability)}`;
  const lines = call.wrap(title, name.padEnd(3)).map(call.paint.bold);
  const supporting = suspect.reasons.filter(({ weight }) => weight >= SPEAKS).slice(0, MOST_FOR);
  const opposing = suspect.reasons.filter(({ weight }) => weight <= -SPEAKS).slice(0, MOST_AGAINST);
  if (supporting.length > 0) {
    const table = reasonTable(call, unit, supporting);
    const text = table.join('\n');
    const same = known.get(text);
    if (same === undefined) known.set(text, name);
    lines.push(
      ...(same === undefined
        ? ['  speaks for it', ...table]
        : call.wrap(`The same readings speak for it as for ${same}, and as strongly.`, '  ')),
    );
  }
  if (opposing.length > 0) lines.push('  speaks against it', ...reasonTable(call, unit, opposing));
  else lines.push(...call.wrap('No reading speaks against it.', '  '));
  if (suspect.indistinct.length > 0) {
    lines.push(
      ...call.wrap(
        `No reading at a listed point can tell it from ${suspectNames(machine, suspect.indistinct)}.`,
        '  ',
      ),
    );
  }
  suspect.parts.forEach((part, i) => {
    const whose = suspect.parts.length > 1 ? `${part}: ` : '';
    const text = confirmation(partNamed(machine, part), suspect.modes[i]!);
    lines.push(...call.wrap(`Before unsoldering: ${whose}${text}.`, '  '));
  });
  return lines;
}

function reasonTable(call: Call, unit: Unit, reasons: readonly Reason[]): string[] {
  const { figures } = call;
  const off = (value: number, mean: number, sigma: number): string => {
    const z = spreadsOff((value - mean) / sigma);
    return z === '' ? '' : `${z} off`;
  };
  return tableLines(
    [
      column('state', 'left', reasons, (r) => r.condition),
      column('point', 'left', reasons, placeWords),
      column(unit.id, 'right', reasons, (r) => figures.level(r.value, r.soundSigma, r.quantity)),
      column('if sound', 'right', reasons, (r) => figures.level(r.sound, r.soundSigma, r.quantity)),
      column('', 'left', reasons, (r) => figures.spread(r.soundSigma, r.quantity)),
      column('', 'right', reasons, (r) => off(r.value, r.sound, r.soundSigma)),
      column('if this', 'right', reasons, (r) => figures.level(r.fault, r.faultSigma, r.quantity)),
      column('', 'left', reasons, (r) => figures.spread(r.faultSigma, r.quantity)),
      column('', 'right', reasons, (r) => off(r.value, r.fault, r.faultSigma)),
    ],
    call.terminal.columns - 2,
    call.paint.quiet,
  ).map((line) => `  ${line}`);
}

/** Groups, slips, drawing suspects, notes. */
function remarkLines(call: Call, machine: Machine, { group, setAside, drawing, notes }: Diagnosis): string[] {
  const remarks = [
    ...(group && group.length > 1
      ? [`No reading can part these any further: ${suspectNames(machine, group)}.`]
      : []),
    ...setAside.map(({ condition, point, value, reason }) => {
      return `Set aside: ${point} ${call.figures.level(value, 0.1, 'V')} V in "${condition}": ${reason}. Read it again.`;
    }),
    ...drawing.map(({ text }) => `The drawing is the suspect: ${text}`),
    ...notes.map((note) => note.charAt(0).toUpperCase() + note.slice(1).replace(/\.?$/, '.')),
  ];
  return remarks.flatMap((text) => call.wrap(text, '  '));
}
