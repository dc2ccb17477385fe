import {
  boardsOf,
  type Finding,
  isRunning,
  type Machine,
  pinNamed,
  pinsByNet,
  pointNet,
  untracedBoards,
} from '../machine/index.ts';
import type { RecordRow } from '../records/index.ts';
import { cautionAt, type DeskMachine, type TableState } from '../workbench/index.ts';
import { descriptionMark } from './repair-view.ts';
import type { FindingView, MachineView, PointView } from './views.ts';

/** A rail so many times larger than all smaller ones is of another family, with an axis of its own, as on the command line. */
const FAMILY_RATIO = 2.5;
/** What a level may lie beyond the rails of its family before it belongs to the next one: 4 % of the axis, 0.7 V at least. */
const OVER_SHARE = 0.04;
const OVER_VOLTS = 0.7;
/** A reading near what is lethal is asked for only after its caution has been confirmed. */
const GATES = /\b(mains|high[- ]voltage|lethal|qualified|live)\b/i;

/** What the page has to know of a machine to draw it; empty lists where machine.json makes none. */
export function machineView({ entry, machine, findings }: DeskMachine, table: TableState): MachineView {
  const shown = machine ?? NOTHING;
  const families = familiesOf(shown);
  const untraced = new Set(untracedBoards(shown));
  const said = new Map((shown.boards ?? []).map((board) => [board.name, board]));
  const names = [...new Set([...boardsOf(shown), ...said.keys()])];
  return {
    id: entry.id,
    revision: entry.revision,
    name: entry.name,
    summary: entry.summary,
    mark: descriptionMark(shown),
    reference: shown.reference,
    ambient: shown.ambient,
    units: shown.units,
    instruments: shown.instruments,
    families,
    states: shown.conditions.map((state) => ({
      name: state.name,
      steps: state.steps ?? '',
      note: state.note ?? '',
      runs: isRunning(state),
    })),
    boards: names.map((name) => ({
      name,
      caution: said.get(name)?.caution ?? '',
      note: said.get(name)?.note ?? '',
      traced: boardsOf(shown).includes(name) && !untraced.has(name),
    })),
    points: pointsOf(shown, families),
    findings: findings.map((finding) => findingView(finding)),
    table,
  };
}

/** @param rows  of the sheet that the finding is of, where it is one of a sheet: row 2 of the file is the first of these */
export function findingView(finding: Finding, rows: readonly RecordRow[] = []): FindingView {
  const { severity, code, file, message, found = null, column = null, row = null } = finding;
  const id = row === null ? null : (rows[row - 2]?.id ?? null);
  return { severity, code, file, message, found, column, line: row, row: id };
}

const NOTHING: Machine = {
  name: '',
  summary: '',
  reference: '',
  ambient: 22,
  rails: [],
  units: [],
  instruments: [],
  parts: [],
  types: new Map(),
  conditions: [],
  points: [],
  readings: [],
  flow: [],
};

/** Supplies by their height: the lowest family first. There is always one. */
export function familiesOf({ rails }: Pick<Machine, 'rails'>): MachineView['families'] {
  const byHeight = [...rails].sort((a, b) => Math.abs(a.volts) - Math.abs(b.volts));
  const groups: (typeof byHeight)[] = [[]];
  let last = 0;
  for (const rail of byHeight) {
    const height = Math.abs(rail.volts);
    if (last > 0 && height > FAMILY_RATIO * last) groups.push([]);
    groups.at(-1)!.push(rail);
    last = height;
  }
  return groups.map((group) => {
    const volts = group.map((rail) => rail.volts);
    const rails = group.map(({ net, volts }) => ({ net, volts })).sort((a, b) => a.volts - b.volts);
    return { from: Math.min(0, ...volts), to: Math.max(0, ...volts), rails };
  });
}

/** In signal order: by stage as the flow names them, else by board, within it as the machine lists them. */
function pointsOf(machine: Machine, families: MachineView['families']): readonly PointView[] {
  const boards = boardsOf(machine);
  const stageOf = new Map<string, { group: string; board: string }>();
  for (const { board, stage, outputs } of machine.flow) {
    // A board that is one stage is called by its own name, and a stage that is called as some other board is not taken for it.
    const group =
      stage === 'board' ? board : stage !== board && boards.includes(stage) ? `stage ${stage}` : stage;
    for (const net of outputs) if (!stageOf.has(net)) stageOf.set(net, { group, board });
  }
  const read = extremes(machine);
  const order = new Map<string, number>();
  const points = machine.points.map((one): PointView => {
    const net = pointNet(machine, one.point) ?? one.point;
    const stage = stageOf.get(net);
    const board = pinNamed(machine, one.point)?.part.board ?? stage?.board ?? boardOfNet(machine, net);
    const caution = cautionAt(machine, one.point);
    return {
      point: one.point,
      net,
      board,
      // A pin on another board than the stage that drives its wire stands with its own board.
      group: stage?.board === board ? stage.group : board,
      minutes: one.minutes,
      note: one.note,
      caution,
      gated: GATES.test(caution),
      family: familyOf(families, net, read.get(net)),
    };
  });
  const place = ({ board }: PointView): number => {
    const at = boards.indexOf(board);
    return at < 0 ? boards.length : at;
  };
  for (const point of points) {
    const key = `${point.board}\n${point.group}`;
    if (!order.has(key)) order.set(key, order.size);
  }
  const rank = (point: PointView): number => order.get(`${point.board}\n${point.group}`)!;
  return points
    .map((point, at) => ({ point, at }))
    .sort((a, b) => place(a.point) - place(b.point) || rank(a.point) - rank(b.point) || a.at - b.at)
    .map(({ point }) => point);
}

/** The board that a net is on: the first with a part that is more than a connector. */
function boardOfNet(machine: Machine, net: string): string {
  const pins = pinsByNet(machine).get(net) ?? [];
  return (pins.find(({ part }) => part.kind !== 'connector') ?? pins[0])?.part.board ?? '';
}

/** What was ever read of a net and what feeds it, at its furthest from 0, volts. */
function extremes(machine: Machine): Map<string, number> {
  const found = new Map<string, number>();
  const put = (net: string, volts: number): void => {
    if (Math.abs(volts) > Math.abs(found.get(net) ?? 0)) found.set(net, volts);
  };
  const healthy = new Set(machine.units.filter((unit) => unit.health === 'healthy').map(({ id }) => id));
  for (const { unit, point, value } of machine.readings) {
    if (healthy.has(unit)) put(pointNet(machine, point) ?? point, value);
  }
  for (const { drives } of machine.conditions) for (const { net, volts } of drives) put(net, volts);
  return found;
}

function familyOf(families: MachineView['families'], net: string, volts = 0): number {
  const rail = families.findIndex(({ rails }) => rails.some((one) => one.net === net));
  if (rail >= 0) return rail;
  const at = families.findIndex(({ from, to }) => {
    const over = Math.max(OVER_VOLTS, OVER_SHARE * (to - from));
    return volts >= from - over && volts <= to + over;
  });
  return at < 0 ? families.length - 1 : at;
}
