/**
 * Where a reading is taken: a net, or a pin that reads as its net unless its own joint is open.
 */
import type { Netlist } from '../circuit/index.ts';
import type { Machine } from '../machine/index.ts';

export interface Site {
  /** As the folder writes it: a net name, or `BOARD/REF.pin`. */
  readonly point: string;
  /** Net index in the netlist; -1 when the point is not in the machine. */
  readonly net: number;
  readonly pin: boolean;
  readonly minutes: number;
  readonly note: string;
}

/** The net a point reads on a sound board: `BOARD/REF.pin` or the net's own name. */
export function netOfPoint(machine: Machine, point: string): { net: string; pin: boolean } {
  const dot = point.lastIndexOf('.');
  const slash = point.indexOf('/');
  if (slash > 0 && dot > slash) {
    const name = point.slice(0, dot);
    const part = partsByName(machine).get(name);
    const pin = part?.pins.find((p) => p.pin === point.slice(dot + 1));
    if (pin) return { net: pin.net, pin: true };
  }
  return { net: point, pin: false };
}

const partIndex = new WeakMap<Machine, Map<string, Machine['parts'][number]>>();
function partsByName(machine: Machine): Map<string, Machine['parts'][number]> {
  let index = partIndex.get(machine);
  if (!index) {
    index = new Map(machine.parts.map((p) => [p.name, p]));
    partIndex.set(machine, index);
  }
  return index;
}

/** All points where a probe can go, and any other that has been read. */
export function sitesOf(machine: Machine, netlist: Netlist): Map<string, Site> {
  const sites = new Map<string, Site>();
  const put = (point: string, minutes: number, note: string): void => {
    if (sites.has(point)) return;
    const at = netOfPoint(machine, point);
    // A pin is on its own side of the contacts that may part its net.
    const net = (at.pin ? netlist.pinNets.get(point) : netlist.netIndex.get(at.net)) ?? -1;
    sites.set(point, { point, net, pin: at.pin, minutes, note });
  };
  for (const p of machine.points) put(p.point, p.minutes, p.note);
  for (const r of machine.readings) put(r.point, 2, '');
  return sites;
}

/** The same sites for the same machine with other readings; a new map only where a point is new. */
export function sitesBeside(
  sites: ReadonlyMap<string, Site>,
  machine: Machine,
  netlist: Netlist,
): ReadonlyMap<string, Site> {
  const read = new Set(machine.readings.map((r) => r.point));
  const listed = new Set(machine.points.map((p) => p.point));
  const same =
    [...read].every((point) => sites.has(point)) &&
    [...sites.keys()].every((point) => listed.has(point) || read.has(point));
  if (same) return sites;
  const fresh = sitesOf(machine, netlist);
  // A site that stays is the same one.
  for (const [point, site] of sites) if (fresh.has(point)) fresh.set(point, site);
  return fresh;
}
