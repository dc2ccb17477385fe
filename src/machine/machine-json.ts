import { type FindingCode, type FindingList, shown } from './finding.ts';
import { jsonFault } from './json-fault.ts';
import type { Health, Instrument, Machine, Rail, Unit } from './model.ts';
import { DEFAULT_METER_OHMS } from './nets.ts';
import { ROOM } from './sheets/readings.ts';

export const MACHINE_JSON = 'machine.json';
/** The only format there is. */
const FORMAT = 1;

/** What machine.json holds of a machine. */
export type MachineHead = Pick<
  Machine,
  'name' | 'summary' | 'reference' | 'ambient' | 'rails' | 'units' | 'instruments'
>;

/** Where fields are left out: °C; percent; percent, percent and volts. Common practice, no source: a room, a regulated supply, a good hand-held meter. */
const AMBIENT = 22;
const RAIL_TOLERANCE = 5;
const METER = { ohms: DEFAULT_METER_OHMS, gain: 0.5, random: 0.3, volts: 0.005 };

const HEALTHS: readonly Health[] = ['healthy', 'faulty', 'unknown'];

/** A JSON object; unknown fields are kept by the one who holds it. */
export type JsonObject = Readonly<Record<string, unknown>>;

export interface MachineJson {
  readonly raw: JsonObject;
  /** `undefined` when no machine can be made of it. */
  readonly head: MachineHead | undefined;
}

/** Reads machine.json; every fault is reported with the path of its field. `undefined` when it is not a JSON object. */
export function machineJson(text: string, findings: FindingList): MachineJson | undefined {
  let raw: unknown;
  try {
    raw = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch {
    const { line, column, wanted } = jsonFault(text);
    findings.error(
      'json-syntax',
      { file: MACHINE_JSON, row: line, column: String(column) },
      `not valid JSON: ${wanted} belongs here; look for a missing comma, quotation mark or bracket just before`,
    );
    return undefined;
  }
  if (!isObject(raw)) {
    findings.error(
      'json-syntax',
      { file: MACHINE_JSON },
      'not an object; the file holds one { } with the fields of the format',
    );
    return undefined;
  }
  return { raw, head: machineHead(new Fields(raw, '', findings)) };
}

function machineHead(fields: Fields): MachineHead | undefined {
  const format = fields.raw.format;
  if (format === undefined)
    fields.warning('missing', 'format', `missing; read as format ${FORMAT}: add "format": ${FORMAT}`);
  else if (format !== FORMAT) {
    fields.error(
      'format',
      'format',
      `format ${shown(JSON.stringify(format))} is not known to this program, which reads format ${FORMAT}`,
    );
    return undefined;
  }
  const name = fields.text('name') ?? '';
  if (name.trim() === '' && fields.raw.name === undefined)
    fields.warning('missing', 'name', 'missing; give the machine a name');
  const reference = fields.name('reference', 'the net every voltage is measured against');
  const ambient = fields.number('ambient', ROOM.from, ROOM.to, ROOM.wanted!) ?? AMBIENT;
  const rails = fields.list('rails').flatMap((entry) => rail(entry) ?? []);
  const units = fields.list('units').flatMap((entry) => unit(entry) ?? []);
  const instruments = fields.list('instruments').flatMap((entry) => instrument(entry) ?? []);
  once(fields, 'rails', 'net');
  once(fields, 'units', 'id');
  once(fields, 'instruments', 'id');
  const onReference = fields.named('rails', 'net').indexOf(reference);
  if (reference !== undefined && onReference >= 0) {
    fields.error(
      'driven-rail',
      `rails[${onReference}].net`,
      `${reference} is the reference, which is 0 V by definition; delete the rail or name its net`,
    );
  }
  if (reference === undefined) return undefined;
  const unique = <T>(items: readonly T[], key: (item: T) => string): T[] =>
    [...new Map(items.map((item) => [key(item), item] as const).reverse()).values()].reverse();
  return {
    name,
    summary: fields.text('summary') ?? '',
    reference,
    ambient,
    rails: unique(rails, ({ net }) => net).filter(({ net }) => net !== reference),
    units: unique(units, ({ id }) => id),
    instruments: unique(instruments, ({ id }) => id),
  };
}

function once(fields: Fields, list: string, field: string): void {
  const first = new Map<string, number>();
  fields.named(list, field).forEach((name, i) => {
    if (name === undefined) return;
    const there = first.get(name);
    if (there === undefined) first.set(name, i);
    else {
      const message = `${shown(name)} stands in ${list}[${there}] already; rename or delete one`;
      fields.error('duplicate', `${list}[${i}].${field}`, message);
    }
  });
}

function rail(fields: Fields): Rail | undefined {
  const net = fields.name('net', 'the net of the rail');
  const volts = fields.needed('volts', -50_000, 50_000, 'volts, not beyond 50 kV');
  const tolerance = fields.number('tolerance', 0, 100, 'a percentage from 0 to 100') ?? RAIL_TOLERANCE;
  return net === undefined || volts === undefined ? undefined : { net, volts, tolerance };
}

function unit(fields: Fields): Unit | undefined {
  const id = fields.name('id', 'the name of the unit');
  const { health = 'unknown' } = fields.raw;
  const known = HEALTHS.find((word) => word === health);
  if (known === undefined)
    fields.error(
      'unknown-word',
      'health',
      `${shown(JSON.stringify(health))} is not known; it is healthy, faulty or unknown`,
    );
  return id === undefined ? undefined : { id, health: known ?? 'unknown' };
}

function instrument(fields: Fields): Instrument | undefined {
  const id = fields.name('id', 'the name of the instrument');
  const ohms = fields.number('ohms', 1, 1e15, 'the input resistance in ohms, such as 10000000') ?? METER.ohms;
  const gain = fields.number('gain', 0, 100, 'the gain error in percent') ?? METER.gain;
  const random = fields.number('random', 0, 100, 'the random error in percent') ?? METER.random;
  const volts = fields.number('volts', 0, 1000, 'the absolute error in volts') ?? METER.volts;
  return id === undefined ? undefined : { id, ohms, gain, random, volts };
}

/** The fields of one object in machine.json, with findings that name the path. */
class Fields {
  readonly raw: JsonObject;
  readonly #path: string;
  readonly #findings: FindingList;

  constructor(raw: JsonObject, path: string, findings: FindingList) {
    this.raw = raw;
    this.#path = path;
    this.#findings = findings;
  }

  text(field: string): string | undefined {
    const value = this.raw[field];
    if (value === undefined || typeof value === 'string') return value;
    this.#wrong(field, 'a text in double quotes');
    return undefined;
  }

  /** A name, which must be there. */
  name(field: string, what: string): string | undefined {
    const text = this.text(field);
    if (text?.trim()) return text.trim();
    if (text !== undefined || this.raw[field] === undefined) {
      this.error('missing', field, `${text === undefined ? 'missing' : 'empty'}; ${what} belongs here`);
    }
    return undefined;
  }

  number(field: string, from: number, to: number, wanted: string): number | undefined {
    const value = this.raw[field];
    if (value === undefined) return undefined;
    if (typeof value !== 'number') {
      this.#wrong(field, `a number without quotes: ${wanted}`);
      return undefined;
    }
    if (value >= from && value <= to) return value === 0 ? 0 : value;
    this.error('out-of-range', field, `${value} is out of range; here belongs ${wanted}`);
    return undefined;
  }

  needed(field: string, from: number, to: number, wanted: string): number | undefined {
    if (this.raw[field] === undefined)
      this.error('missing', field, `missing; here belongs a number: ${wanted}`);
    return this.number(field, from, to, wanted);
  }

  /** The names that the entries of a list give themselves, in their places. */
  named(list: string, field: string): (string | undefined)[] {
    const entries = this.raw[list];
    return (Array.isArray(entries) ? entries : []).map((entry: unknown) => {
      const name = isObject(entry) ? entry[field] : undefined;
      return typeof name === 'string' ? name.trim() : undefined;
    });
  }

  list(field: string): Fields[] {
    const value = this.raw[field] ?? [];
    if (!Array.isArray(value)) {
      this.#wrong(field, 'a list in square brackets');
      return [];
    }
    return value.flatMap((entry: unknown, i) => {
      const path = `${this.#at(field)}[${i}]`;
      if (isObject(entry)) return [new Fields(entry, path, this.#findings)];
      this.#findings.error(
        'json-syntax',
        { file: MACHINE_JSON, column: path },
        `${shown(JSON.stringify(entry))} is not an object { }`,
      );
      return [];
    });
  }

  error(code: FindingCode, field: string, message: string): void {
    this.#findings.error(code, { file: MACHINE_JSON, column: this.#at(field) }, message);
  }

  warning(code: FindingCode, field: string, message: string): void {
    this.#findings.warning(code, { file: MACHINE_JSON, column: this.#at(field) }, message);
  }

  #at(field: string): string {
    return this.#path === '' ? field : `${this.#path}.${field}`;
  }

  #wrong(field: string, wanted: string): void {
    const found = JSON.stringify(this.raw[field]);
    this.#findings.error(
      'wrong-kind',
      { file: MACHINE_JSON, column: this.#at(field), found },
      `${shown(found)} is not what belongs here: ${wanted}`,
    );
  }
}

function isObject(value: unknown): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** The text of machine.json. Fields of `raw` that the format does not know are kept. */
export function machineJsonText(head: MachineHead, raw: JsonObject = {}): string {
  const known = { name: head.name, summary: head.summary, reference: head.reference, ambient: head.ambient };
  return `${JSON.stringify(
    {
      format: FORMAT,
      ...raw,
      ...known,
      rails: entries(head.rails, raw.rails, 'net'),
      units: entries(head.units, raw.units, 'id'),
      ...(head.instruments.length === 0 && raw.instruments === undefined
        ? {}
        : { instruments: entries(head.instruments, raw.instruments, 'id') }),
    },
    null,
    2,
  )}\n`;
}

function entries(items: readonly object[], raw: unknown, key: string): object[] {
  const named = new Map((Array.isArray(raw) ? raw : []).filter(isObject).map((entry) => [entry[key], entry]));
  return items.map((item) => ({ ...named.get((item as JsonObject)[key]), ...item }));
}
