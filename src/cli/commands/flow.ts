import {
  type Drive,
  type FlowAnswer,
  type Loop,
  type Place,
  type Stage,
  wayBack,
} from '../../logic/index.ts';
import type { Machine } from '../../machine/index.ts';
import {
  badLoopWords,
  chosenBoard,
  chosenNet,
  contradictionWords,
  driveWords,
  HOLD_CAUTION,
  loopWords,
  type MachineFlow,
  machineFlow,
  namedWords,
  openWords,
  placeCaution,
  placeWords,
  REGULATOR_WORDS,
  stageWords,
  type UnitFlow,
  unitFlow,
} from '../../workbench/index.ts';
import type { Call } from '../call.ts';
import { cautionAtPoint } from '../cautions.ts';
import { plural } from '../numbers.ts';
import { column } from '../strip-table.ts';
import { paragraphs, tableLines } from '../table.ts';

/** Sentences of a kind, and ways around a loop, that a person takes in; `--all` shows every one. */
const MOST_NAMED = 4;
const MOST_RINGS = 4;

/** What is asked for: of one point, of one board, of one unit, or of the machine. */
interface Asked {
  readonly machine: Machine;
  readonly known: MachineFlow;
  readonly board: string | undefined;
  readonly net: string | undefined;
  readonly unit: UnitFlow | undefined;
  /** Nothing is left out for length. */
  readonly all: boolean;
}

export async function flow(call: Call): Promise<void> {
  const machine = await call.machine();
  const known = machineFlow(machine);
  const [point] = call.options.point ?? [];
  const asked: Asked = {
    machine,
    known,
    board: chosenBoard(machine, call.options.board),
    net: point === undefined ? undefined : chosenNet(machine, known.flow, point),
    unit: call.options.unit === undefined ? undefined : unitFlow(machine, call.options.unit),
    all: call.options.all === true || call.options.json === true,
  };
  if (call.options.json) call.json(flowJson(asked));
  else call.lines(flowLines(call, asked));
}

function flowLines(call: Call, asked: Asked): string[] {
  const { machine, known, net, unit } = asked;
  const nets = netsAsked(asked);
  const loops = loopsAsked(asked);
  const head = call.wrap(
    `${machine.name}: ${plural(known.flow.stages.length, 'stage')}, ${plural(known.loops.length, 'loop')}.`,
  );
  return paragraphs(
    head,
    unit === undefined ? [] : verdictLines(call, machine, unit),
    net === undefined ? netLines(call, asked, nets) : wayLines(call, asked, net),
    loopLines(call, machine, loops),
    contradictionLines(call, known),
  );
}

/**
 * The nets that are listed: of a board those that its stages drive, of a unit those that look bad and what they follow, or with `--all` all
 * that were read.
 */
function netsAsked({ known: { flow }, board, net, unit, all }: Asked): string[] {
  if (net !== undefined) return [net];
  const listed = new Set<string>();
  for (const looks of unit?.states.values() ?? [])
    for (const [one, look] of looks) {
      if (all || look === 'bad') listed.add(one);
      if (look === 'bad')
        for (const { from } of flow.drives.get(one) ?? []) for (const source of from) listed.add(source);
    }
  return [...flow.driversOf].flatMap(([one, stages]) =>
    (board === undefined || stages.some((stage) => stage.board === board)) &&
    (unit === undefined || listed.has(one))
      ? [one]
      : [],
  );
}

/** The loops that are spelled out: of a point those that it is in, with the ways around through it, of a board those that touch it, of a unit those that look bad. */
function loopsAsked({ known: { loops }, board, net, unit }: Asked): readonly Loop[] {
  const bad = unit && new Set(unit.answer.loops.map(({ loop }) => loop.nets.join('\n')));
  const through = loops.map((loop) =>
    net === undefined ? loop : { ...loop, rings: loop.rings.filter(({ nets }) => nets.includes(net)) },
  );
  return through.filter(
    ({ nets, stages }) =>
      (net === undefined || nets.includes(net)) &&
      (board === undefined || stages.some((stage) => stage.board === board)) &&
      (net !== undefined || bad === undefined || bad.has(nets.join('\n'))),
  );
}

/** The nets that a net follows, with a question mark where it may be the other way round; else where it comes in. */
function fromOf(drives: readonly Drive[]): string {
  const nets = drives.flatMap(({ from, certain }) => from.map((net) => (certain ? net : `${net}?`)));
  const outside = drives.filter(({ way }) => way === 'outside').map(driveWords);
  return [...new Set([...nets, ...outside])].join(' ');
}

function netLines(call: Call, { known: { flow }, unit }: Asked, nets: readonly string[]): string[] {
  const drives = (net: string) => flow.drives.get(net) ?? [];
  const lines = tableLines(
    [
      column('point', 'left', nets, (net) => net),
      column(
        'looks',
        'left',
        nets,
        (net) => (unit === undefined ? '' : looksIn(unit, net)),
        (net) =>
          unit !== undefined && looksIn(unit, net).startsWith('bad') ? call.paint.departs : undefined,
      ),
      column('driven by', 'left', nets, (net) => (flow.driversOf.get(net) ?? []).map(stageWords).join('; ')),
      column('from', 'left', nets, (net) => fromOf(drives(net))),
    ],
    call.terminal.columns,
    call.paint.quiet,
  );
  const either = nets.some((net) => drives(net).some(({ certain }) => !certain));
  return either
    ? [...lines, ...call.wrap('A question mark: the wiring leaves open which way it runs.', '  ')]
    : lines;
}

/** How a net looks over all states that it was read in. */
function looksIn({ states }: UnitFlow, net: string): string {
  const looks = [...states.values()].flatMap((one) => one.get(net) ?? []);
  const bad = looks.filter((look) => look === 'bad').length;
  if (looks.length === 0) return '';
  return bad === 0 ? 'good' : bad === looks.length ? 'bad' : `bad in ${bad} of ${looks.length}`;
}

function wayLines(call: Call, { known: { flow }, machine, unit }: Asked, net: string): string[] {
  const steps = wayBack(flow, net);
  const table = tableLines(
    [
      column('point', 'left', steps, (step) => step.net),
      column('back', 'right', steps, ({ depth }) => `${depth}`),
      column('looks', 'left', steps, (step) => (unit === undefined ? '' : looksIn(unit, step.net))),
      column('driven by', 'left', steps, ({ stages }) => stages.map(stageWords).join('; ') || 'not known'),
      column('from', 'left', steps, ({ drives }) => fromOf(drives)),
    ],
    call.terminal.columns,
    call.paint.quiet,
  );
  return [...table, ...cautionAtPoint(call, machine, net, '  ')];
}

function verdictLines(call: Call, machine: Machine, { unit, states, answer }: UnitFlow): string[] {
  const { named, open, loops, candidates, next } = answer;
  const { all } = call.options;
  const looks = [...states.values()].flatMap((one) => [...one.values()]);
  const bad = looks.filter((look) => look === 'bad').length;
  const lines = call.wrap(
    `${unit.id}: ${bad} of ${plural(looks.length, 'reading')} look${bad === 1 ? 's' : ''} bad.`,
  );
  const shown = (list: readonly string[]): string[] => (all ? [...list] : list.slice(0, MOST_NAMED));
  for (const one of shown(named.map(namedWords))) lines.push(...call.wrap(one, '  ').map(call.paint.bold));
  for (const one of shown(open.map(openWords))) lines.push(...call.wrap(one, '  '));
  for (const one of loops) lines.push(...call.wrap(badLoopWords(one), '  '));
  const left = [named, open].reduce((sum, { length }) => sum + Math.max(0, length - MOST_NAMED), 0);
  if (!all && left > 0) lines.push(...call.wrap(`${left} more, in fewer states: --all shows them.`, '  '));
  if (bad > 0 && named.length === 0 && candidates.length > 0)
    lines.push(...call.wrap(`${plural(candidates.length, 'stage')} in question.`, '  '));
  if (next.length === 0) return lines;
  return [
    ...lines,
    '',
    ...call.wrap('What to look at next, what halves them best first:'),
    ...tableLines(
      [
        column('point', 'left', next, (one) => one.net),
        column('state', 'left', next, (one) => one.state),
        column('left if bad', 'right', next, (one) => `${one.bad}`),
        column('if good', 'right', next, (one) => `${one.good}`),
      ],
      call.terminal.columns,
      call.paint.quiet,
    ),
    ...next.flatMap((one) => cautionAtPoint(call, machine, one.net, '  ')),
  ];
}

function loopLines(call: Call, machine: Machine, loops: readonly Loop[]): string[] {
  if (loops.length === 0) return [];
  let cautioned = false;
  const lines = loops.flatMap((loop) => {
    const head = call
      .wrap(`Loop of ${plural(loop.nets.length, 'net')}: ${loopWords(loop)}`, '', '  ')
      .map(call.paint.bold);
    if (loop.regulates) return [...head, ...call.wrap(REGULATOR_WORDS, '  '), ''];
    const shown = call.options.all ? loop.rings : loop.rings.slice(0, MOST_RINGS);
    const body = shown.flatMap(({ nets, places }) => [
      ...call.wrap(`${nets.join(' > ')} >`, '  ', '    '),
      ...places.flatMap((place) => {
        cautioned = true;
        return placeLines(call, machine, place);
      }),
      ...(places.length === 0 ? call.wrap('no place found in the wiring', '    ') : []),
    ]);
    const left = loop.rings.length - shown.length;
    return [
      ...head,
      ...body,
      ...(left > 0 ? call.wrap(`${left} longer ways around: --all shows them.`, '  ') : []),
      '',
    ];
  });
  if (!cautioned) return lines.slice(0, -1);
  const caution = call.wrap(HOLD_CAUTION, '  CAUTION  ');
  return [
    ...lines,
    ...caution.map((line, i) => (i === 0 ? line.replace('CAUTION', call.paint.caution('CAUTION')) : line)),
  ];
}

function placeLines(call: Call, machine: Machine, place: Place): string[] {
  const caution = placeCaution(machine, place);
  return [
    ...call.wrap(placeWords(place), '    - '),
    ...(caution === ''
      ? []
      : call
          .wrap(caution, '      CAUTION  ')
          .map((line, i) => (i === 0 ? line.replace('CAUTION', call.paint.caution('CAUTION')) : line))),
  ];
}

function contradictionLines(call: Call, { flow }: MachineFlow): string[] {
  if (flow.contradictions.length === 0) return [];
  return [
    ...call.wrap('flow.csv and the wiring do not agree:').map(call.paint.bold),
    ...flow.contradictions.flatMap((one) => call.wrap(`${contradictionWords(one)}.`, '  ')),
  ];
}

function flowJson(asked: Asked): object {
  const { machine, known, net, unit } = asked;
  const { flow } = known;
  const stageJson = ({
    name,
    kind,
    board,
    parts,
    inputs,
    outputs,
    supplies,
    group,
    wins,
    drawn,
    breaks,
  }: Stage) => {
    return { name, kind, board, parts, inputs, outputs, supplies, group, wins, drawn, breaks };
  };
  const names = (stages: readonly Stage[]) => stages.map(({ name }) => name);
  const steps = net === undefined ? undefined : wayBack(flow, net);
  const output = ({ net, stages, good, unread, states }: FlowAnswer['named'][number]) => {
    return { net, stages: names(stages), good, unread, states };
  };
  return {
    points: netsAsked(asked).map((one) => ({
      point: one,
      stages: names(flow.driversOf.get(one) ?? []),
      drives: (flow.drives.get(one) ?? []).map(({ from, way, by, certain }) => ({ from, way, by, certain })),
    })),
    ...(steps === undefined
      ? {}
      : {
          back: steps.map(({ depth, net, stages }) => ({ depth, point: net, stages: names(stages) })),
        }),
    stages: flow.stages
      .filter(({ board }) => asked.board === undefined || board === asked.board)
      .map(stageJson),
    loops: loopsAsked(asked).map(({ nets, stages, regulates, rings }) => ({
      points: nets,
      stages: names(stages),
      regulates,
      rings: rings.map((ring) => ({
        points: ring.nets,
        stages: names(ring.stages),
        places: ring.places.map((place) => ({ ...place, caution: placeCaution(machine, place) })),
      })),
    })),
    contradictions: flow.contradictions,
    ...(unit === undefined
      ? {}
      : {
          unit: {
            id: unit.unit.id,
            looks: [...unit.states].map(([state, looks]) => ({ state, points: Object.fromEntries(looks) })),
            named: unit.answer.named.map(output),
            open: unit.answer.open.map(output),
            loops: unit.answer.loops.map(({ loop, fed, feeds, states }) => ({
              points: loop.nets,
              fed,
              feeds,
              states,
            })),
            candidates: names(unit.answer.candidates),
            next: unit.answer.next.map(({ state, net, bad, good }) => ({ state, point: net, bad, good })),
          },
        }),
  };
}
