import { wayBack } from '../logic/index.ts';
import type { Machine } from '../machine/index.ts';
import {
  badLoopWords,
  cautionAt,
  chosenNet,
  contradictionWords,
  driveWords,
  HOLD_CAUTION,
  type judgedFlow,
  loopWords,
  machineFlow,
  namedWords,
  openWords,
  placeCaution,
  placeWords,
  REGULATOR_WORDS,
  stageWords,
} from '../workbench/index.ts';
import type { FlowAnswerView, FlowLoopView, FlowPointView, FlowView } from './flow-views.ts';

type Judged = ReturnType<typeof judgedFlow>;

/**
 * @param point  to be followed back; none when undefined
 * @param judged  how a unit looks; no unit when undefined
 * @throws InputError  `unknown-point`
 */
export function flowView(
  machine: Machine,
  revision: number,
  point: string | undefined,
  judged: Judged | undefined,
): FlowView {
  const { flow, loops } = machineFlow(machine);
  const net = point === undefined ? undefined : chosenNet(machine, flow, point);
  const bad = new Set(judged?.answer.loops.map(({ loop }) => loop.nets.join('\n')));
  return {
    revision,
    points: [...flow.driversOf].map(([net, stages]): FlowPointView => {
      const drives = flow.drives.get(net) ?? [];
      const outside = drives.find(({ way }) => way === 'outside');
      return {
        point: net,
        board: stages[0]?.board ?? '',
        drivenBy: stages.map(stageWords).join('; '),
        from: drives.flatMap(({ from, by, certain }) => from.map((point) => ({ point, by, certain }))),
        outside: outside === undefined ? '' : driveWords(outside),
        looks: judged === undefined ? null : looksOf(judged, net),
        caution: cautionAt(machine, net),
      };
    }),
    way: net === undefined ? [] : wayBack(flow, net).map(({ net, depth }) => ({ point: net, depth })),
    loops: loops.map(
      (loop): FlowLoopView => ({
        points: loop.nets,
        words: loopWords(loop),
        closed: loop.regulates ? REGULATOR_WORDS : '',
        bad: bad.has(loop.nets.join('\n')),
        rings: loop.rings.map(({ nets, places }) => ({
          points: nets,
          places: places.map((place) => ({
            words: placeWords(place),
            caution: placeCaution(machine, place),
          })),
        })),
      }),
    ),
    contradictions: flow.contradictions.map(contradictionWords),
    answer: judged === undefined ? null : answerView(judged),
    caution: HOLD_CAUTION,
  };
}

function looksOf({ states }: Judged, net: string): FlowPointView['looks'] {
  const looks = [...states.values()].flatMap((one) => one.get(net) ?? []);
  const bad = looks.filter((look) => look === 'bad').length;
  return looks.length === 0 ? null : { good: looks.length - bad, bad };
}

function answerView({ states, answer }: Judged): FlowAnswerView {
  const all = [...states.values()].flatMap((looks) => [...looks.values()]);
  return {
    readings: all.length,
    bad: all.filter((look) => look === 'bad').length,
    named: answer.named.map(namedWords),
    open: answer.open.map(openWords),
    loops: answer.loops.map(badLoopWords),
    candidates: answer.candidates.length,
    next: answer.next.map(({ state, net, bad, good }) => ({ state, point: net, bad, good })),
  };
}
