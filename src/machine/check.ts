import { GENERIC_TYPES } from './built-in-types.ts';
import { circuitChecks } from './check-circuit.ts';
import { type FindingList, shown } from './finding.ts';
import type { Board, FlowStage, Machine, Part, Point, Reading } from './model.ts';
import { suggestion } from './nearest.ts';
import { boardsOf, netSet, partNamed, pinNamed, pinsByNet } from './nets.ts';
import { KIND_RULES } from './part-kinds.ts';
import { quantityOf } from './quantity.ts';
import { isRunning } from './running.ts';
import type { SheetContent } from './sheet.ts';
import { BOARDS } from './sheets/boards.ts';
import { CONDITIONS, type ConditionRow } from './sheets/conditions.ts';
import { FLOW } from './sheets/flow.ts';
import { PARTS } from './sheets/parts.ts';
import { PIN_FORM, POINTS } from './sheets/points.ts';
import { READINGS } from './sheets/readings.ts';
import { STATES, type StateSteps } from './sheets/states.ts';

/** A folder's records with the rows they came from. */
export interface FolderContent {
  readonly machine: Machine;
  /** Whether machine.json gave a reference, rails and units; without it nothing is held against them. */
  readonly headed: boolean;
  readonly parts: SheetContent<Part>;
  readonly conditions: SheetContent<ConditionRow>;
  readonly points: SheetContent<Point>;
  readonly readings: SheetContent<Reading>;
  readonly flow: SheetContent<FlowStage>;
  readonly states: SheetContent<StateSteps>;
  readonly boards: SheetContent<Board>;
}

/**
 * Holds the tables of a folder against each other: what one names must stand in the other. A table that could not be read
 * (its error stands already) is not held against anything.
 */
export function checkFolder(content: FolderContent, files: ReadonlySet<string>, findings: FindingList): void {
  const wiringRead = !files.has(PARTS.file) || content.parts.layout !== undefined;
  checkTypes(content, findings);
  checkFlow(content, findings);
  checkStates(content, findings);
  checkBoards(content, findings);
  if (wiringRead && content.headed) {
    checkConditions(content, findings);
    checkPoints(content, findings);
    circuitChecks(content, findings);
  }
  checkReadings(content, files, wiringRead, findings);
}

function checkTypes({ machine, parts }: FolderContent, findings: FindingList): void {
  const { file } = PARTS;
  parts.records.forEach(({ kind, type, name }, i) => {
    const place = { file, row: parts.rows[i]!, column: 'type', found: type };
    if (!KIND_RULES[kind].typed) return;
    const generic = GENERIC_TYPES.filter((name) => machine.types.get(name)?.kind === kind).join(', ');
    if (type === '') {
      findings.error(
        'missing',
        place,
        `empty; ${name} is a ${kind}: give its type number, or ${generic} when it is not known`,
      );
      return;
    }
    const known = machine.types.get(type);
    if (known === undefined) {
      const near = findings.explains('unknown-type', file) ? suggestion(type, machine.types.keys()) : '';
      findings.error(
        'unknown-type',
        place,
        `type ${shown(type)} stands neither in types.csv nor in the built-in table${near || ';'} ${near ? 'Else add' : 'add'} it to types.csv, or write ${generic}`,
      );
    } else if (known.kind !== kind) {
      findings.error(
        'wrong-kind',
        place,
        `type ${type} is a ${known.kind}, and ${name} is listed as a ${kind}; mend one of them`,
      );
    }
  });
}

function checkFlow({ machine, flow }: FolderContent, findings: FindingList): void {
  const pins = pinsByNet(machine);
  const boards = new Set(machine.parts.map(({ board }) => board));
  const parts = new Set(machine.parts.map(({ name }) => name));
  flow.records.forEach((stage, i) => {
    const place = { file: FLOW.file, row: flow.rows[i]! };
    const name = `${stage.board}/${stage.stage}`;
    if (parts.has(name)) {
      findings.error(
        'duplicate',
        { ...place, column: 'stage', found: stage.stage },
        `${name} is the name of a part too; rename the stage`,
      );
    }
    if (!boards.has(stage.board)) return;
    for (const column of ['inputs', 'outputs', 'breaks'] as const) {
      const nets = column === 'breaks' ? [stage.breaks].filter((net) => net !== '') : stage[column];
      for (const net of nets.filter((net) => !pins.has(net))) {
        const near = findings.explains('unknown-net', FLOW.file) ? suggestion(net, pins.keys()) : '';
        findings.warning(
          'unknown-net',
          { ...place, column, found: net },
          `no part has a pin on net ${shown(net)}${near}`,
        );
      }
    }
  });
}

function checkConditions({ machine, conditions }: FolderContent, findings: FindingList): void {
  const { file } = CONDITIONS;
  const nets = netSet(machine);
  const rails = new Map(machine.rails.map(({ net, volts }) => [net, volts]));
  conditions.records.forEach(({ role, net }, i) => {
    if (role === 'none') return;
    const place = { file, row: conditions.rows[i]!, column: 'net', found: net };
    if (!nets.has(net)) {
      const near = findings.explains('unknown-net', file) ? suggestion(net, nets) : '';
      findings.error('unknown-net', place, `no part has a pin on net ${shown(net)}${near}`);
    } else if (role === 'drive' && (net === machine.reference || rails.has(net))) {
      const held = net === machine.reference ? 'the reference' : `a rail of ${rails.get(net)} V`;
      findings.error(
        'driven-rail',
        place,
        `net ${net} is ${held} and cannot be driven as well; delete the row, or mend the net or machine.json`,
      );
    }
  });
}

/** A state that only states.csv names is a state; but where its name is nearly that of another one, it is likely a slip. */
function checkStates({ states, conditions }: FolderContent, findings: FindingList): void {
  const { file } = STATES;
  const names = new Set(conditions.records.map(({ condition }) => condition));
  states.records.forEach(({ condition }, i) => {
    if (names.has(condition) || names.size === 0) return;
    const near = findings.explains('unknown-condition', file) ? suggestion(condition, names) : '';
    if (near === '') return;
    const place = { file, row: states.rows[i]!, column: 'condition', found: condition };
    findings.warning(
      'unknown-condition',
      place,
      `condition ${shown(condition)} has no row in conditions.csv${near}`,
    );
  });
}

/** Likewise for a board. */
function checkBoards({ machine, boards }: FolderContent, findings: FindingList): void {
  const { file } = BOARDS;
  const names = new Set(boardsOf(machine));
  boards.records.forEach(({ name }, i) => {
    if (names.has(name)) return;
    const near = findings.explains('unknown-board', file) ? suggestion(name, names) : '';
    if (near === '') return;
    const place = { file, row: boards.rows[i]!, column: 'board', found: name };
    findings.warning('unknown-board', place, `no part is on board ${shown(name)}${near}`);
  });
}

/** Why a point is none, or `undefined` when it is one. */
function pointFault(machine: Machine, point: string, explains: boolean): string | undefined {
  const nets = netSet(machine);
  if (nets.has(point) || pinNamed(machine, point) !== undefined) return undefined;
  if (!PIN_FORM.test(point)) {
    return `there is no net ${shown(point)}${(explains && suggestion(point, nets)) || '; a point is a net, or a pin BOARD/REF.pin'}`;
  }
  const name = point.slice(0, point.indexOf('.', point.indexOf('/')));
  const part = partNamed(machine, name);
  if (part !== undefined)
    return `${name} has no pin ${shown(point.slice(name.length + 1))}; its pins are ${part.pins.map(({ pin }) => pin).join(', ')}`;
  const near = explains
    ? suggestion(
        name,
        machine.parts.map((candidate) => candidate.name),
      )
    : '';
  return `there is no part ${shown(name)}${near}`;
}

function checkPoints({ machine, points }: FolderContent, findings: FindingList): void {
  const { file } = POINTS;
  points.records.forEach(({ point }, i) => {
    const fault = pointFault(machine, point, findings.explains('unknown-point', file));
    if (fault !== undefined)
      findings.error('unknown-point', { file, row: points.rows[i]!, column: 'point', found: point }, fault);
  });
}

function checkReadings(
  { machine, headed, readings, conditions, states }: FolderContent,
  files: ReadonlySet<string>,
  wiringRead: boolean,
  findings: FindingList,
): void {
  const { file } = READINGS;
  const units = new Set(machine.units.map(({ id }) => id));
  const instruments = new Set(machine.instruments.map(({ id }) => id));
  const names = new Set(machine.conditions.map(({ name }) => name));
  const running = new Map(machine.conditions.map((condition) => [condition.name, isRunning(condition)]));
  const conditionsRead =
    (!files.has(CONDITIONS.file) || conditions.layout !== undefined) &&
    (!files.has(STATES.file) || states.layout !== undefined);
  const highest = highestVolts(machine);
  // A point's verdict is asked for once: a hundred thousand readings share some hundred points.
  const faults = new Map<string, string | undefined>();
  const firstRow = repeats(readings.records, readings.rows);
  readings.records.forEach((reading, i) => {
    const { unit, condition, point, quantity, value, instrument } = reading;
    const row = readings.rows[i]!;
    if (headed && !units.has(unit)) {
      findings.error(
        'unknown-unit',
        { file, row, column: 'unit', found: unit },
        `unit ${shown(unit)} does not stand in machine.json, which has ${list(units)}${suggestionIf(findings, 'unknown-unit', unit, units)}`,
      );
    }
    if (conditionsRead && !names.has(condition)) {
      findings.error(
        'unknown-condition',
        { file, row, column: 'condition', found: condition },
        `condition ${shown(condition)} has no row in conditions.csv or states.csv${suggestionIf(findings, 'unknown-condition', condition, names) || '; add one (with the name alone when nothing is driven) or mend the name'}`,
      );
    }
    if (wiringRead && headed) {
      if (!faults.has(point))
        faults.set(point, pointFault(machine, point, findings.explains('unknown-point', file)));
      const fault = faults.get(point);
      if (fault !== undefined)
        findings.error('unknown-point', { file, row, column: 'point', found: point }, fault);
    }
    if (instrument !== '' && headed && !instruments.has(instrument)) {
      findings.warning(
        'unknown-instrument',
        { file, row, column: 'instrument', found: instrument },
        `instrument ${shown(instrument)} does not stand in machine.json; taken as 10 Mohm`,
      );
    }
    const state = running.get(condition);
    if (state !== undefined) checkQuantity(reading, row, state, machine, findings);
    const of = quantityOf(quantity);
    const from = of?.from;
    if (from !== undefined && wiringRead && headed) {
      if (!faults.has(from))
        faults.set(from, pointFault(machine, from, findings.explains('unknown-point', file)));
      const fault = faults.get(from);
      if (fault !== undefined)
        findings.error('unknown-point', { file, row, column: 'quantity', found: quantity }, fault);
    }
    if (of?.unit === 'V' && headed && Math.abs(value) > 2 * highest + 5) {
      findings.warning(
        'implausible',
        { file, row, column: 'value', found: String(value) },
        `${value} V, where no rail or drive is beyond ${highest} V; is it in millivolts, or a slip?`,
      );
    }
    const first = firstRow[i]!;
    if (first !== 0) {
      findings.warning(
        'duplicate',
        { file, row, column: 'value', found: String(value) },
        `the same reading as in row ${first}; delete one if it was entered twice`,
      );
    }
  });
}

/** A level that stands still belongs to a static state, what a waveform tells to a running one. */
function checkQuantity(
  { quantity, condition }: Reading,
  row: number,
  running: boolean,
  { conditions }: Machine,
  findings: FindingList,
): void {
  const of = quantityOf(quantity);
  if (of === undefined || of.states === (running ? 'running' : 'static')) return;
  const place = { file: READINGS.file, row, column: 'quantity', found: quantity };
  if (of.states === 'running') {
    const others = conditions.filter(isRunning).map(({ name }) => name);
    const mend = others.length > 0 ? `name a running one (${list(new Set(others))}), or` : 'either';
    findings.error(
      'wrong-kind',
      place,
      `${quantity} is told of a waveform, and nothing moves in state ${shown(condition)}; ${mend} give its drive a wave in conditions.csv, or write V for a level`,
    );
  } else if (of.states === 'static') {
    findings.error(
      'wrong-kind',
      place,
      `${quantity} is a level that stands still, and state ${shown(condition)} runs; write average for what a meter shows, or high and low`,
    );
  }
}

/** For each reading the row of the first one that says the same, 0 when it is that one itself. Hashed, since a key as a text costs more than all else. */
function repeats(readings: readonly Reading[], rows: readonly number[]): Int32Array {
  const numbers = new Map<string, number>();
  const number = (text: string): number => {
    const known = numbers.get(text);
    if (known !== undefined) return known;
    numbers.set(text, numbers.size);
    return numbers.size - 1;
  };
  const first = new Int32Array(readings.length);
  const chain = new Int32Array(readings.length).fill(-1);
  const latest = new Map<number, number>();
  const value = new Float64Array(1);
  const bits = { value, words: new Int32Array(value.buffer) };
  readings.forEach((reading, i) => {
    bits.value[0] = reading.value;
    let hash = Math.imul(bits.words[0]!, 0x85ebca6b) + bits.words[1]!;
    for (const text of [reading.point, reading.takenAt, reading.condition, reading.unit]) {
      hash = Math.imul(hash, 0x9e3779b1) + number(text);
    }
    hash >>>= 2;
    const before = latest.get(hash) ?? -1;
    for (let k = before; k >= 0; k = chain[k]!) {
      if (sameReading(readings[k]!, reading)) {
        first[i] = rows[k]!;
        return;
      }
    }
    chain[i] = before;
    latest.set(hash, i);
  });
  return first;
}

function sameReading(a: Reading, b: Reading): boolean {
  return (
    a.value === b.value &&
    a.point === b.point &&
    a.takenAt === b.takenAt &&
    a.condition === b.condition &&
    a.unit === b.unit &&
    a.quantity === b.quantity
  );
}

function suggestionIf(
  findings: FindingList,
  code: 'unknown-unit' | 'unknown-condition',
  name: string,
  known: Iterable<string>,
): string {
  return findings.explains(code, READINGS.file) ? suggestion(name, known) : '';
}

function list(names: ReadonlySet<string>): string {
  const shortened = [...names].slice(0, 8).map((name) => shown(name));
  return names.size === 0 ? 'none' : `${shortened.join(', ')}${names.size > 8 ? ' and more' : ''}`;
}

function highestVolts({ rails, conditions }: Machine): number {
  const driven = conditions.flatMap(({ drives }) => drives);
  return [...rails, ...driven].reduce((most, { volts }) => Math.max(most, Math.abs(volts)), 0);
}
