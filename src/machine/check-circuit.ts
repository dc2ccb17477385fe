import type { FolderContent } from './check.ts';
import type { FindingList } from './finding.ts';
import type { Part, PartKind } from './model.ts';
import { nearest, suggestion } from './nearest.ts';
import { type PinOfPart, pinsByNet, untracedBoards } from './nets.ts';
import { PARTS } from './sheets/parts.ts';

/** Kinds through which no direct current is computed. */
const NOT_CONDUCTING: ReadonlySet<PartKind> = new Set(['capacitor', 'connector', 'other']);
/** Names up to this length are alike by chance. */
const SHORT_NAME = 3;
/** How many names a finding lists. */
const NAMES = 6;

/** What can be wrong with the wiring as a whole: lone pins, parts joined on themselves, nets that nothing feeds. */
export function circuitChecks(content: FolderContent, findings: FindingList): void {
  const rowOf = new Map(content.parts.records.map((part, i) => [part, content.parts.rows[i]!]));
  checkLonePins(content, rowOf, findings);
  checkJoinedPins(content, findings);
  checkRails(content, findings);
  checkIslands(content, rowOf, findings);
}

type RowOf = ReadonlyMap<Part, number>;

/** Nets whose voltage is given, in some condition at least. */
function fedNets({ machine }: FolderContent): Set<string> {
  const drives = machine.conditions.flatMap((condition) => condition.drives);
  return new Set([machine.reference, ...[...machine.rails, ...drives].map(({ net }) => net)]);
}

function checkLonePins(content: FolderContent, rowOf: RowOf, findings: FindingList): void {
  const { machine } = content;
  const pins = pinsByNet(machine);
  const fed = fedNets(content);
  const untraced = new Set(untracedBoards(machine));
  const flow = new Set(
    machine.flow.flatMap(({ inputs, outputs, breaks }) => [...inputs, ...outputs, breaks]),
  );
  for (const [net, [only, ...others]] of pins) {
    if (only === undefined || others.length > 0 || fed.has(net) || flow.has(net)) continue;
    const near = findings.explains('single-pin', PARTS.file) ? suggestion(net, pins.keys()) : '';
    // Where the boards at the other end are not traced, a connector's pin stands alone rightly, unless its net looks like a slip.
    const alone = only.part.kind === 'connector' && untraced.has(only.part.board);
    if (alone && !nearest(net, pins.keys()).some((other) => isSlip(net, other))) continue;
    findings.warning(
      'single-pin',
      { file: PARTS.file, row: rowOf.get(only.part)!, column: 'pins', found: `${only.pin.pin}=${net}` },
      `net ${net} has a single pin, ${pinName(only)}${near || '; mend the name if it is a slip'}`,
    );
  }
}

/** Whether one name may be the other one misspelt. Lines are numbered, `BIT1` and `BIT2`: such are two. */
function isSlip(net: string, other: string): boolean {
  const digits = (name: string): string => name.replace(/\D/g, '');
  return net.length > SHORT_NAME && digits(net) === digits(other);
}

function pinName({ part, pin }: PinOfPart): string {
  return `${part.name}.${pin.pin}`;
}

function checkJoinedPins({ parts }: FolderContent, findings: FindingList): void {
  parts.records.forEach(({ name, kind, pins }, i) => {
    if (NOT_CONDUCTING.has(kind) && kind !== 'capacitor') return;
    const nets = new Set(pins.map(({ net }) => net));
    if (nets.size === pins.length || pins.length < 2) return;
    const place = {
      file: PARTS.file,
      row: parts.rows[i]!,
      column: 'pins',
      found: pins.map(({ pin, net }) => `${pin}=${net}`).join(' '),
    };
    if (nets.size === 1) {
      findings.warning(
        'joined-pins',
        place,
        `all pins of ${name} are on net ${pins[0]!.net}, so it does nothing; mend the nets if that is a slip`,
      );
    } else if (kind === 'transistor') {
      const joined = pins.filter(({ net }, k) => pins.some((other, j) => j !== k && other.net === net));
      findings.warning(
        'joined-pins',
        place,
        `pins ${joined.map(({ pin }) => pin).join(' and ')} of ${name} are on one net, ${joined[0]!.net}: right for a transistor used as a diode`,
      );
    }
  });
}

function checkRails({ machine, parts }: FolderContent, findings: FindingList): void {
  if (parts.records.length === 0) return;
  const pins = pinsByNet(machine);
  machine.rails.forEach(({ net }, i) => {
    if (pins.has(net)) return;
    findings.warning(
      'unknown-net',
      { file: 'machine.json', column: `rails[${i}].net`, found: net },
      `no part has a pin on rail ${net}${findings.explains('unknown-net', 'machine.json') ? suggestion(net, pins.keys()) : ''}`,
    );
  });
  if (pins.has(machine.reference)) return;
  findings.warning(
    'unknown-net',
    { file: 'machine.json', column: 'reference', found: machine.reference },
    `no part has a pin on the reference ${machine.reference}${suggestion(machine.reference, pins.keys())}`,
  );
}

/**
 * Sets of nets that nothing which conducts joins to the reference, a rail or a driven net. A switch counts as closed, and a
 * net as fed when some condition drives it. An island with a part that has no model, or with a connector, may be fed from
 * there: that is doubtful, not wrong.
 */
function checkIslands(content: FolderContent, rowOf: RowOf, findings: FindingList): void {
  const pins = pinsByNet(content.machine);
  const untraced = new Set(untracedBoards(content.machine));
  const islands = islandsOf(content);
  const unmodelled: string[] = [];
  for (const nets of islands) {
    const there = nets.flatMap((net) => pins.get(net) ?? []);
    const kinds = new Set(there.map(({ part }) => part.kind));
    if ([...kinds].every((kind) => kind === 'connector' || kind === 'other')) {
      // Between boards that are not traced nothing else is to be expected.
      if (!there.every(({ part }) => untraced.has(part.board))) unmodelled.push(...nets);
      continue;
    }
    const first = there.find(({ part }) => part.kind !== 'connector' && part.kind !== 'other')!;
    const place = {
      file: PARTS.file,
      row: rowOf.get(first.part)!,
      column: 'pins',
      found: `${first.pin.pin}=${first.pin.net}`,
    };
    const which = `net${nets.length > 1 ? 's' : ''} ${named(nets)} (${pinName(first)}${there.length > 1 ? ' and others' : ''})`;
    const outside = there.find(({ part }) => part.kind === 'connector' || part.kind === 'other');
    if (outside !== undefined) {
      findings.warning(
        'undriven-island',
        place,
        `nothing that is computed feeds ${which}; it may be fed through ${outside.part.name}, and is only compared with the other unit`,
      );
    } else if ([...kinds].every((kind) => kind === 'capacitor')) {
      findings.warning(
        'undriven-island',
        place,
        `only capacitors are on ${which}, so it has no direct voltage`,
      );
    } else {
      findings.error(
        'undriven-island',
        place,
        `nothing feeds ${which}: no conducting part joins it to the reference, a rail or a drive; mend a net name, or add the part or drive that is missing`,
      );
    }
  }
  if (unmodelled.length > 0) {
    findings.warning(
      'undriven-island',
      { file: PARTS.file },
      `${unmodelled.length} net${unmodelled.length > 1 ? 's' : ''} with nothing but connectors and parts without a model: ${named(unmodelled)}; compared with the other unit, not computed`,
    );
  }
}

function named(names: readonly string[]): string {
  return `${names.slice(0, NAMES).join(', ')}${names.length > NAMES ? ` and ${names.length - NAMES} more` : ''}`;
}

/** The islands, each as its nets in the order in which parts name them. */
function islandsOf(content: FolderContent): string[][] {
  const { machine } = content;
  const names = [...pinsByNet(machine).keys()];
  const numbers = new Map(names.map((name, i) => [name, i]));
  const parent = Int32Array.from(names, (_, i) => i);
  const root = (start: number): number => {
    let at = start;
    while (parent[at] !== at) {
      parent[at] = parent[parent[at]!]!;
      at = parent[at]!;
    }
    return at;
  };
  for (const { kind, pins } of machine.parts) {
    if (NOT_CONDUCTING.has(kind)) continue;
    for (const [i, { pin, net }] of pins.entries()) {
      // The windings of a transformer are apart from each other.
      const partner =
        kind === 'transformer' ? pins.findIndex((other) => other.pin.slice(0, -1) === pin.slice(0, -1)) : 0;
      if (partner < i) parent[root(numbers.get(net)!)] = root(numbers.get(pins[partner]!.net)!);
    }
  }
  const fed = new Set([...fedNets(content)].flatMap((net) => numbers.get(net) ?? []).map(root));
  const islands = new Map<number, string[]>();
  names.forEach((name, i) => {
    const at = root(i);
    if (fed.has(at)) return;
    const island = islands.get(at);
    if (island === undefined) islands.set(at, [name]);
    else island.push(name);
  });
  return [...islands.values()];
}
