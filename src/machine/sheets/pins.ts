import { shown } from '../finding.ts';
import type { PartKind, Pin } from '../model.ts';
import { KIND_RULES } from '../part-kinds.ts';
import type { SheetRow } from '../sheet-row.ts';

const WINDING_PIN = /^[1-9]\d?[ab]$/;

/** The pins of a row of parts.csv, in the order in which they stand; those that can be read, when some cannot. */
export function pinList(row: SheetRow, kind: PartKind): Pin[] {
  const text = row.text('pins');
  const rule = KIND_RULES[kind].pins;
  const windings = rule === 'windings';
  const wanted = windings ? undefined : rule;
  const example = windings
    ? '1a=P1 1b=P2 2a=S1 2b=S2'
    : (wanted ?? ['1', '2']).map((pin) => `${pin}=NET`).join(' ');
  const pins = new Map<string, Pin>();
  const refuse = (message: string): void => row.error('bad-pins', 'pins', message);
  for (const pair of text === '' ? [] : text.split(/\s+/)) {
    const equals = pair.indexOf('=');
    const name = pair.slice(0, Math.max(equals, 0));
    const net = pair.slice(equals + 1);
    // Pin names of a kind are small letters; those of connectors are whatever is printed there.
    const pin = rule === undefined ? name : name.toLowerCase();
    if (name === '' || net === '') {
      refuse(`${shown(pair)} is not pin=net; pairs stand with spaces between, as in ${example}`);
    } else if (pins.has(pin)) {
      refuse(`pin ${pin} is given twice; a pin is on one net`);
    } else if (windings ? !WINDING_PIN.test(pin) : wanted !== undefined && !wanted.includes(pin)) {
      refuse(`a ${kind} has no pin ${shown(name)}; its pins are ${example}`);
    } else {
      pins.set(pin, { pin, net });
    }
  }
  const absent = windings ? partners(pins) : (wanted ?? []).filter((pin) => !pins.has(pin));
  if (absent.length > 0) {
    refuse(`pin${absent.length > 1 ? 's' : ''} ${absent.join(' and ')} missing; a ${kind} needs ${example}`);
  } else if (pins.size === 0 && text === '') {
    refuse(`no pins; a ${kind} joins nets by its pins, as in ${example}`);
  }
  return [...pins.values()];
}

/** The other ends of windings of which one end is given. */
function partners(pins: ReadonlyMap<string, Pin>): string[] {
  return [...pins.keys()]
    .map((pin) => pin.slice(0, -1) + (pin.endsWith('a') ? 'b' : 'a'))
    .filter((pin) => !pins.has(pin));
}
