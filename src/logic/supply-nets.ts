/**
 * Which nets feed stages rather than carry a signal. Beside the reference and the rails: what hangs on a supply through a fuse,
 * a switch or a choke, what a regulator or a filter makes of one, and what a zener holds.
 */
import { type Machine, type Part, type PinOfPart, pinsByNet } from '../machine/index.ts';

export type Wiring = Pick<
  Machine,
  'reference' | 'rails' | 'parts' | 'types' | 'conditions' | 'flow' | 'boards'
>;

/** From so many farads on a capacitor to a supply is a reservoir or a filter. Common practice, no source. */
const RESERVOIR = 10e-6;

/** Every supply net with its order: 0 for the reference and the rails, higher for what is made of others. */
export type SupplyNets = ReadonlyMap<string, number>;

/** The nets that feed stages; see the top of the file. */
export function supplyNets(machine: Wiring): SupplyNets {
  const supplies = new Map<string, number>();
  for (const net of [machine.reference, ...machine.rails.map((rail) => rail.net)]) supplies.set(net, 0);
  const nets = pinsByNet(machine);
  for (let order = 1, grown = true; grown; order++) {
    grown = false;
    for (const [net, pins] of nets) {
      if (supplies.has(net) || !isMade(net, pins, supplies)) continue;
      supplies.set(net, order);
      grown = true;
    }
  }
  return supplies;
}

/** The nets of a part besides one. */
export function farNets({ pins }: Part, net: string): string[] {
  return pins.filter((pin) => pin.net !== net).map((pin) => pin.net);
}

function isMade(net: string, pins: readonly PinOfPart[], supplies: SupplyNets): boolean {
  const fedBy = (kinds: readonly string[]) =>
    pins.some(({ part }) => kinds.includes(part.kind) && farNets(part, net).some((far) => supplies.has(far)));
  if (fedBy(['fuse'])) return true;
  const inLine = ({ part }: PinOfPart) =>
    part.kind === 'fuse' || part.kind === 'switch' || part.kind === 'inductor';
  const reservoir = pins.some(
    ({ part }) =>
      part.kind === 'capacitor' &&
      (part.value ?? 0) >= RESERVOIR &&
      farNets(part, net).some((far) => supplies.has(far)),
  );
  if (fedBy(['switch', 'inductor']) && (reservoir || (pins.length > 1 && pins.every(inLine)))) return true;
  const consumers = pins.filter((pin) => consumes(pin, net, supplies)).length;
  // A base on it makes it the timing or bias net of that stage, unless it plainly feeds others.
  const base = pins.some(({ part, pin }) => part.kind === 'transistor' && pin.pin === 'b');
  if (base && consumers < 5) return false;
  const zener = fedBy(['zener']);
  if (zener && fedBy(['resistor'])) return true;
  if (!reservoir && !zener) return false;
  if (consumers >= 3) return true;
  const collector = pins.some(({ part, pin }) => part.kind === 'transistor' && pin.pin === 'c');
  return consumers === 2 && !collector && nearestBySupply(net, pins, supplies);
}

/** Whether this pin takes current from the net, were it a supply. */
function consumes({ part, pin }: PinOfPart, net: string, supplies: SupplyNets): boolean {
  switch (part.kind) {
    case 'connector':
    case 'other':
      return true;
    case 'transistor':
      return pin.pin === 'c';
    case 'capacitor':
    case 'zener':
      return false;
    default:
      return farNets(part, net).some((far) => !supplies.has(far));
  }
}

/** Whether the least resistance on the net leads to a supply. */
function nearestBySupply(net: string, pins: readonly PinOfPart[], supplies: SupplyNets): boolean {
  let least = Number.POSITIVE_INFINITY;
  let bySupply = false;
  for (const { part } of pins) {
    if (part.kind !== 'resistor' || part.value === undefined || part.value >= least) continue;
    least = part.value;
    bySupply = farNets(part, net).some((far) => supplies.has(far));
  }
  return bySupply;
}
