/**
 * Where contacts part a net: the sides that a net falls into when one of its connectors' contacts opens.
 *
 * A net that leaves a board by a connector has a node of its own on that board, and the contact is a conductance
 * between it and the rest. So a bad contact is a conductance that vanishes, like any other open.
 */
import { type Machine, type PinOfPart, pinsByNet } from '../machine/index.ts';

/** A contact, or two in a row, that nothing lies beside: opening it parts the net. */
export interface Contact {
  /** The connector, or the part without a model. */
  readonly part: string;
  /** Pins as `BOARD/REF.pin`: opening any of them opens it. */
  readonly pins: readonly string[];
  readonly a: string;
  readonly b: string;
}

export interface Contacts {
  /** Side of the pins, as `BOARD/REF.pin`, that are not on the node which bears their net's name. */
  readonly sides: ReadonlyMap<string, string>;
  readonly contacts: readonly Contact[];
}

function pinName({ part, pin }: PinOfPart): string {
  return `${part.name}.${pin.pin}`;
}

/**
 * The sides of every net but the reference, a node of which on every board would cost each solve a sixth more. The node with
 * the net's own name is, in this order: where something feeds the net from outside (rail, drive, a board that is not traced),
 * where the part without a model is, the board that has a transistor's collector or emitter there, the first board.
 */
export function contactsOf(machine: Machine): Contacts {
  const sides = new Map<string, string>();
  const contacts: Contact[] = [];
  const fed = new Set(machine.rails.map((r) => r.net));
  for (const c of machine.conditions) for (const d of c.drives) fed.add(d.net);
  const traced = new Set<string>();
  for (const p of machine.parts) if (p.kind !== 'connector' && p.kind !== 'other') traced.add(p.board);
  for (const f of machine.flow)
    if (!traced.has(f.board)) for (const net of [...f.inputs, ...f.outputs]) fed.add(net);
  const taken = pinsByNet(machine);

  for (const [net, pins] of taken) {
    if (net === machine.reference) continue;
    const boards = new Map<string, { pins: PinOfPart[]; contacts: PinOfPart[]; drives: boolean }>();
    const others: PinOfPart[] = [];
    let outside = fed.has(net);
    for (const p of pins) {
      const { board, kind } = p.part;
      if (!traced.has(board)) {
        outside = true;
        continue;
      }
      let own = boards.get(board);
      if (!own) {
        own = { pins: [], contacts: [], drives: false };
        boards.set(board, own);
      }
      if (kind === 'other') others.push(p);
      else (kind === 'connector' ? own.contacts : own.pins).push(p);
      if (kind === 'transistor' && p.pin.pin !== 'b') own.drives = true;
    }
    // A contact that nothing of its board hangs on parts nothing.
    for (const [board, own] of boards)
      if (own.pins.length === 0 && !others.some((p) => p.part.board === board)) boards.delete(board);
    const side = (name: string): string => {
      let free = `${net}:${name}`;
      while (taken.has(free)) free += ':';
      return free;
    };
    const at = new Map<string, string>();
    const part = (bridge: readonly PinOfPart[], a: string, b: string): void => {
      contacts.push({ part: bridge[0]!.part.name, pins: bridge.map(pinName), a, b });
    };
    /** Of contacts side by side none parts the net alone. */
    const alone = (own: { contacts: readonly PinOfPart[] }): readonly PinOfPart[] =>
      own.contacts.length === 1 ? own.contacts : [];
    if (outside) {
      for (const [board, own] of boards) {
        if (alone(own).length === 0) continue;
        at.set(board, side(board));
        part(own.contacts, side(board), net);
      }
    } else {
      const names = [...boards.keys()];
      const lone = others.length === 1 ? others[0]! : undefined;
      const home = lone?.part.board ?? names.find((b) => boards.get(b)!.drives) ?? names[0];
      if (home === undefined) continue;
      const away = names.filter((b) => b !== home);
      if (lone && pins.some((p) => p.part.kind !== 'other' && p.part.kind !== 'connector')) {
        at.set(home, side(home));
        part([lone], side(home), net);
      }
      const homeNode = at.get(home) ?? net;
      const first = alone(boards.get(home)!);
      if (away.length === 1) {
        const bridge = [...first, ...alone(boards.get(away[0]!)!)];
        at.set(away[0]!, bridge.length > 0 ? side(away[0]!) : homeNode);
        if (bridge.length > 0) part(bridge, side(away[0]!), homeNode);
      } else if (away.length > 1) {
        const middle = first.length > 0 ? side('') : homeNode;
        if (first.length > 0) part(first, middle, homeNode);
        for (const board of away) {
          const bridge = alone(boards.get(board)!);
          at.set(board, bridge.length > 0 ? side(board) : middle);
          if (bridge.length > 0) part(bridge, side(board), middle);
        }
      }
    }
    for (const p of pins) {
      const node = at.get(p.part.board);
      if (node !== undefined && node !== net && p.part.kind !== 'other') sides.set(pinName(p), node);
    }
  }
  return { sides, contacts };
}
