import { type Departure, departures } from '../diagnosis/index.ts';
import {
  type FlowAnswer,
  goodInputsBadOutput,
  type Looks,
  type Loop,
  loopsOf,
  type Place,
  type SignalFlow,
  signalFlow,
  twinDepartures,
} from '../logic/index.ts';
import { boardsOf, type Machine, pointNet, suggestion, type Unit } from '../machine/index.ts';
import { InputError } from '../records/index.ts';
import { cautionAt } from './caution.ts';
import { chosenUnit } from './choice.ts';
import { verdict } from './words.ts';

export interface MachineFlow {
  readonly flow: SignalFlow;
  /** The smallest first. */
  readonly loops: readonly Loop[];
}

/** What drives what in a machine, and its loops. */
export function machineFlow(machine: Machine): MachineFlow {
  const flow = signalFlow(machine);
  return { flow, loops: loopsOf(machine, flow) };
}

export interface UnitFlow {
  readonly unit: Unit;
  readonly taken: boolean;
  /** How the nets of the unit look, by state. */
  readonly states: ReadonlyMap<string, Looks>;
  readonly answer: FlowAnswer;
}

/** Good inputs, bad output over all readings of a unit, static and running. @throws InputError  as `chosenUnit` */
export function unitFlow(machine: Machine, unitId?: string): UnitFlow {
  const { unit, taken } = chosenUnit(machine, unitId);
  return { unit, taken, ...judgedFlow(machine, unit.id, departures(machine, unit.id)) };
}

/** The same with departures that were reckoned elsewhere. */
export function judgedFlow(
  machine: Machine,
  unit: string,
  judged: readonly Departure[],
): Pick<UnitFlow, 'states' | 'answer'> {
  const states = looksOf(machine, unit, judged);
  const nets = new Map<string, number>();
  for (const { point, minutes } of machine.points) {
    const net = pointNet(machine, point);
    if (net !== undefined && point === net && cautionAt(machine, point) === '') nets.set(net, minutes);
  }
  const reach = [...nets].map(([net, minutes]) => ({ net, minutes }));
  return { states, answer: goodInputsBadOutput(machine, signalFlow(machine), states, reach) };
}

/**
 * How nets look in each state: bad where a reading departs, good where all are sound. What is doubtful is left out. A net is told by what was
 * read on it; only where nothing was, by its pins.
 */
function looksOf(machine: Machine, unit: string, judged: readonly Departure[]): ReadonlyMap<string, Looks> {
  const found = new Map<string, Map<string, 'good' | 'bad' | 'doubtful'>>();
  const keyOf = (one: { condition: string; point: string; quantity: string }) =>
    `${one.condition}\n${one.point}\n${one.quantity}`;
  const told = new Set(judged.map(keyOf));
  const twins = twinDepartures(machine, unit).filter((one) => !told.has(keyOf(one)));
  const all = [...judged, ...twins].filter(({ z }) => !Number.isNaN(z));
  for (const onNet of [true, false]) {
    const known = new Set(
      onNet ? [] : [...found].flatMap(([state, nets]) => [...nets.keys()].map((net) => `${state}\n${net}`)),
    );
    for (const { condition, point, z } of all) {
      const net = pointNet(machine, point);
      if (net === undefined || (net === point) !== onNet || known.has(`${condition}\n${net}`)) continue;
      const nets = found.get(condition) ?? new Map<string, 'good' | 'bad' | 'doubtful'>();
      found.set(condition, nets);
      const look = ({ departs: 'bad', doubtful: 'doubtful', sound: 'good' } as const)[verdict(z)];
      const there = nets.get(net);
      if (there === undefined || look === 'bad' || (look === 'doubtful' && there === 'good'))
        nets.set(net, look);
    }
  }
  return new Map(
    [...found].map(([state, nets]) => [
      state,
      new Map([...nets].flatMap(([net, look]) => (look === 'doubtful' ? [] : [[net, look] as const]))),
    ]),
  );
}

/** What a person must know before a loop is opened or held at a place; empty when nothing is known, which does not make it safe. */
export function placeCaution(machine: Machine, place: Place): string {
  const ofBoards =
    place.kind === 'board'
      ? place.boards.flatMap((board) => {
          const { caution = '' } = machine.boards?.find(({ name }) => name === board) ?? {};
          return caution === '' ? [] : [`${board}: ${caution}`];
        })
      : [];
  const ofNets = [place.net, ...(place.kind === 'hold' ? [place.to] : [])].flatMap((net) => {
    const caution = cautionAt(machine, net);
    return caution === '' ? [] : [`${net}: ${caution}`];
  });
  return [...new Set([...ofBoards, ...ofNets])].join('; ');
}

/** The net of a point. @throws InputError  `unknown-point`, with the nearest there is */
export function chosenNet(machine: Machine, flow: SignalFlow, point: string): string {
  const net = pointNet(machine, point);
  if (net !== undefined) return net;
  const near = suggestion(point, [...flow.drives.keys(), ...machine.points.map((one) => one.point)]);
  throw new InputError('unknown-point', `no point ${JSON.stringify(point)}${near}`);
}

/** The board by its name, `undefined` for none named. @throws InputError  `unknown-board`, with those there are */
export function chosenBoard(machine: Machine, board: string | undefined): string | undefined {
  const boards = boardsOf(machine);
  if (board === undefined || boards.includes(board)) return board;
  throw new InputError('unknown-board', `no board ${JSON.stringify(board)}; boards: ${boards.join(', ')}`);
}
