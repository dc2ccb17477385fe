/** Signal flow in the words of the trade. */

import type { Contradiction, Drive, FlowAnswer, Loop, Place, Stage } from '../logic/index.ts';
import { formatValue } from '../quantity/index.ts';

/** `inverter CTR/Q1, bistable`; `stage M/line, drawn by hand`; `input from outside`. */
export function stageWords({ kind, name, board, group, wins, drawn }: Stage): string {
  switch (kind) {
    case 'rail':
      return 'rail';
    case 'outside':
      return 'input from outside';
    case 'board':
      return `board ${board}, not traced`;
    case 'drawn':
      return `stage ${drawn}, drawn by hand`;
    case 'diode gate':
      return `diode gate ${name}, ${GATES[wins ?? 'highest']}`;
    default:
      return `${kind} ${name}${group === undefined || group.kind === kind ? '' : `, ${group.kind}`}`;
  }
}

/** Which gate it is goes with which level is called 1, so both are said. */
const GATES = { highest: 'negative AND (positive OR)', lowest: 'negative OR (positive AND)' };

/** What a drive goes through: `CLK/Q3`, `pin CLK/J1.5`, `CTR/R9, either way`. */
export function driveWords({ way, by, certain }: Drive): string {
  const what =
    way === 'outside' ? (by === '' ? 'an unknown pin' : `pin ${by}`) : way === 'rail' ? 'supplied' : by;
  return certain ? what : `${what}, either way`;
}

/** Where a loop is opened or held, as an instruction. */
export function placeWords(place: Place): string {
  switch (place.kind) {
    case 'break':
      return `open or hold it at ${place.net}, as flow.csv says of ${place.stage}`;
    case 'board':
      return `pull board ${place.boards[0]} or ${place.boards[1]}: ${place.net} goes from one to the other by the edge`;
    case 'hold': {
      const [ohms, amperes] = [formatValue(place.ohms, 'Ω', 2), formatValue(place.amperes, 'A', 2)];
      const what =
        place.stands === 'off' ? `cuts ${place.stage} off` : `holds ${place.stage} as if it conducted`;
      return `clip ${place.net} to ${place.to} through ${ohms}: ${what}; ${amperes} at most`;
    }
    case 'capacitor':
      return `lift one lead of ${place.part}, in front of ${place.net}: the last resort`;
  }
}

export function contradictionWords({ stage, net, kind, instead }: Contradiction): string {
  return kind === 'driven elsewhere'
    ? `flow.csv has ${stage} put out ${net}, but by the wiring ${instead} drives it`
    : `flow.csv has ${stage} take in ${net}, but by the wiring ${net} follows ${instead}`;
}

/** `inverter CTR/Q1: good at BIT1N and CLR, bad at BIT1, in counter 3.` */
export function namedWords({ net, stages, good, states }: FlowAnswer['named'][number]): string {
  const before = good.length === 0 ? 'nothing in front of it' : `good at ${good.join(', ')}`;
  return `${stages.map(stageWords).join(' and ')}: ${before}, bad at ${net}, ${inStates(states)}.`;
}

export function openWords({ net, stages, unread, states }: FlowAnswer['open'][number]): string {
  const front = `not read in front of ${stages.map(stageWords).join(' and ')}: ${unread.join(', ')}`;
  return `Bad at ${net}, ${inStates(states)}; ${front}.`;
}

const MOST_NAMED = 6;

export function badLoopWords({ loop, feeds, fed, states }: FlowAnswer['loops'][number]): string {
  const bad = `All that was read of the loop ${loopWords(loop)} looks bad ${inStates(states)}`;
  if (feeds === 'good') return `${bad}, and what feeds it looks good: open it or hold it.`;
  if (feeds === 'bad') return `${bad}, but so does something that feeds it: look there first.`;
  const list = fed.slice(0, MOST_NAMED).join(', ') + (fed.length > MOST_NAMED ? ' and others' : '');
  return `${bad}. Read what feeds it (${list}), then open it or hold it.`;
}

/** What makes up a loop: groups of stages, then the others, under the names that flow.csv gives them if it does. */
export function loopWords({ stages }: Loop): string {
  const groups = stages
    .flatMap(({ group }) => group ?? [])
    .map(({ kind, parts }) => `${kind} ${parts.join(' ')}`);
  const rest = stages.filter(({ group }) => group === undefined).map(({ drawn, name }) => drawn ?? name);
  return [...new Set([...groups, ...rest])].join(', ');
}

function inStates(states: readonly string[]): string {
  return states.length > 2 ? `in ${states.length} states` : `in ${states.join(' and ')}`;
}

/** Of a loop that regulates a supply. */
export const REGULATOR_WORDS =
  'A regulator: neither open nor hold it with the boards in. Boards out, load the output with a resistor, and compare its points with the twin.';

/** Goes with every place where a loop is opened or held. */
export const HOLD_CAUTION =
  'Clips, boards and leads only with power off and reservoirs discharged and measured. A clip goes through the resistor stated, never bare, and never to mains or high voltage; those are for qualified people, and local rules decide.';
