/** What a person named on the call, held against what the machine has. */

import { netlistOf } from '../circuit/index.ts';
import { failureRatesIn, faultsOfMode, runningFailureRates } from '../faults/index.ts';
import { type Machine, partNamed, suggestion, type Unit, untracedBoards } from '../machine/index.ts';
import { InputError } from '../records/index.ts';

export interface UnitChoice {
  readonly unit: Unit;
  /** Whether it was taken because it is the only faulty one. */
  readonly taken: boolean;
}

/**
 * The unit by its id; without one, the faulty unit if there is exactly one.
 *
 * @throws InputError  `unknown-unit` or `which-unit`, with the units there are
 */
export function chosenUnit(machine: Machine, id: string | undefined): UnitChoice {
  const all = `units: ${listed(machine.units.map((unit) => `${unit.id} (${unit.health})`))}`;
  if (id !== undefined) {
    const unit = machine.units.find((one) => one.id === id);
    if (unit !== undefined) return { unit, taken: false };
    const ids = machine.units.map((one) => one.id);
    throw new InputError('unknown-unit', `no unit ${quoted(id)}; ${all}${suggestion(id, ids)}`);
  }
  const faulty = machine.units.filter(({ health }) => health === 'faulty');
  if (faulty.length === 1) return { unit: faulty[0]!, taken: true };
  const count = faulty.length === 0 ? 'none is' : `${faulty.length} are`;
  throw new InputError('which-unit', `name the unit with --unit, since ${count} called faulty; ${all}`);
}

/** The condition by its name, `undefined` for none named. @throws InputError  `unknown-condition`, with those there are */
export function chosenCondition(machine: Machine, name: string | undefined): string | undefined {
  const names = machine.conditions.map((condition) => condition.name);
  if (name === undefined || names.includes(name)) return name;
  const all =
    names.length === 0 ? 'the folder has no conditions' : `conditions: ${listed(names.map(quoted))}`;
  throw new InputError('unknown-condition', `no condition ${quoted(name)}; ${all}${suggestion(name, names)}`);
}

/** A failure mode of a part: `ADD/Q3` and `short-ce`. */
export interface FaultName {
  readonly part: string;
  readonly mode: string;
}

/**
 * A fault from `PART:MODE`, such as `ADD/Q3:short-ce` or `PWR/T1:open:1`.
 *
 * @throws InputError  `bad-fault`, `unknown-part`, `unknown-mode` or `no-effect`, with what is allowed
 */
export function chosenFault(machine: Machine, text: string): FaultName {
  const colon = text.indexOf(':');
  if (colon < 1 || colon === text.length - 1) {
    throw new InputError(
      'bad-fault',
      `${quoted(text)} is no fault; write PART:MODE, such as ADD/Q3:short-ce`,
    );
  }
  const fault = { part: text.slice(0, colon), mode: text.slice(colon + 1) };
  const part = partNamed(machine, fault.part);
  if (part === undefined) throw unknownPart(machine, fault.part);
  const modes = [...failureRatesIn(machine, part).keys()];
  if (!modes.includes(fault.mode) && runningFailureRates(part).has(fault.mode)) {
    throw new InputError(
      'no-effect',
      `${fault.mode} shows only in a state that runs, and the machine has none: give a drive of a condition a wave`,
    );
  }
  if (!modes.includes(fault.mode)) {
    const near = suggestion(fault.mode, modes);
    throw new InputError(
      'unknown-mode',
      `${part.name} is of kind ${part.kind} and has no mode ${quoted(fault.mode)}; modes: ${listed(modes)}${near}`,
    );
  }
  if (faultsOfMode(netlistOf(machine), part, fault.mode).length === 0) {
    throw new InputError(
      'no-effect',
      `${fault.mode} of ${part.name} changes nothing in this circuit: both pins are on one net, nothing else feeds the net of the contact, or it is not computed`,
    );
  }
  return fault;
}

function unknownPart(machine: Machine, name: string): InputError {
  if (untracedBoards(machine).some((board) => board === name || name.startsWith(`${board}/`))) {
    return new InputError(
      'unknown-part',
      `${name} is not traced: there is no circuit to compute what would be read`,
    );
  }
  const sameRef = machine.parts.filter(({ ref }) => ref.toLowerCase() === name.toLowerCase());
  const names = machine.parts.map((part) => part.name);
  const near =
    sameRef.length > 0
      ? `; parts are named with their board: ${listed(sameRef.map((part) => part.name))}`
      : suggestion(name, names);
  const board = machine.parts.filter((part) => part.board === name.split('/')[0]).map((part) => part.ref);
  const rest =
    near !== ''
      ? ''
      : board.length > 0
        ? `; ${name.split('/')[0]} has ${listed(board)}`
        : `; boards: ${listed([...new Set(machine.parts.map((part) => part.board))])}`;
  return new InputError('unknown-part', `no part ${quoted(name)}${near}${rest}`);
}

const MOST_LISTED = 24;

function listed(names: readonly string[]): string {
  const rest = names.length - MOST_LISTED;
  return names.slice(0, MOST_LISTED).join(', ') + (rest > 0 ? ` and ${rest} more` : '');
}

function quoted(text: string): string {
  return JSON.stringify(text);
}
