/**
 * The schemas that every request is held against. What the page sends has their types.
 *
 * Volts, degrees Celsius, minutes; times are ISO 8601. A state is what the folder calls a condition.
 */
import { z } from 'zod';
import { quantityOf } from '../machine/index.ts';
import type { SheetName } from '../records/index.ts';

const LONGEST_NAME = 200;
const LONGEST_TEXT = 10_000;
const LONGEST_LIST = 5000;

// biome-ignore lint/suspicious/noControlCharactersInRegex: those are the ones that no name may hold
const CONTROL = /[\u0000-\u001f\u007f]/;
export const line = z
  .string()
  .max(LONGEST_NAME)
  .refine((text) => !CONTROL.test(text), 'holds a control character');
export const name = line.refine((text) => text.trim() !== '', 'is empty');
export const text = z.string().max(LONGEST_TEXT);
export const id = z.coerce.number().int().min(1).max(Number.MAX_SAFE_INTEGER);
const share = z.number().min(0).max(1);
const celsius = z.number().min(-40).max(80);

const SHEETS = [
  'parts',
  'types',
  'conditions',
  'states',
  'points',
  'boards',
  'flow',
  'readings',
] as const satisfies readonly SheetName[];

export const ofMachine = z.object({ id });
export const ofReading = z.object({ id, reading: id });
export const ofSheet = z.object({ id, sheet: z.enum(SHEETS) });
export const ofEntry = z.object({ id, entry: name });
export const ofPhotograph = z.object({ id, photograph: id });

export const benchQuery = z.object({ unit: name, against: name.optional(), state: name });
export const suspectsQuery = z
  .object({ unit: name, state: name.optional(), point: name.optional(), value: line.optional() })
  .refine(
    ({ state, point, value }) => [state, point, value].every((one) => (one === undefined) === !value),
    'a preview needs state, point and value together',
  );
export const whatIfQuery = z.object({ fault: name, state: name.optional() });
export const readingsQuery = z.object({
  unit: name.optional(),
  state: name.optional(),
  point: name.optional(),
});
export const compareQuery = z.object({ left: name, right: name });
export const logQuery = z.object({ unit: name.optional(), search: line.optional() });
export const repairQuery = z.object({ unit: name, from: line.optional(), until: line.optional() });
export const changesQuery = z.object({ limit: z.coerce.number().int().min(1).max(500).optional() });
export const photographQuery = z.object({
  file: line.optional(),
  board: name,
  side: name,
  unit: line.optional(),
  takenAt: line.optional(),
  note: line.optional(),
});
export const placementQuery = z.object({ board: name, side: name, unit: line.default(''), mark: name });

const health = z.enum(['healthy', 'faulty', 'unknown']);
export const newMachine = z.strictObject({
  name,
  summary: line.optional(),
  reference: name,
  ambient: celsius.optional(),
  rails: z
    .array(
      z.strictObject({
        net: name,
        volts: z.number().min(-100_000).max(100_000),
        tolerance: z.number().min(0).max(100).optional(),
      }),
    )
    .max(50),
  units: z.array(z.strictObject({ id: name, health })).max(100),
  boards: z
    .array(
      z.strictObject({
        name,
        pins: z.array(name).max(500),
        testPoints: z.array(name).max(500).optional(),
        inputs: z.array(name).max(500).optional(),
        outputs: z.array(name).max(500).optional(),
        caution: line.optional(),
      }),
    )
    .max(200),
  points: z
    .array(z.strictObject({ point: name, note: line.optional(), caution: line.optional() }))
    .max(LONGEST_LIST)
    .optional(),
  states: z
    .array(z.strictObject({ name, steps: text.optional() }))
    .max(200)
    .optional(),
});
export type NewMachine = z.infer<typeof newMachine>;

export const newReading = z.strictObject({
  unit: name,
  state: name,
  point: name,
  quantity: name.refine((text) => quantityOf(text) !== undefined, 'is not what a reading is of'),
  text: line,
  uncertainty: line.optional(),
  ambient: celsius.optional(),
  instrument: line.optional(),
  note: line.optional(),
});
export type NewReading = z.infer<typeof newReading>;

const cells = z.record(name, text);
const version = z.number().int().min(0);
const row = z.number().int().min(1);
const edit = z.union([
  z.strictObject({ add: cells, after: row.optional() }),
  z.strictObject({ row, version, cells }),
  z.strictObject({ remove: row, version }),
]);
export type SheetEdit = z.infer<typeof edit>;
export const sheetChange = z.strictObject({ edits: z.array(edit).min(1).max(LONGEST_LIST), what: line });
export const headChange = z.strictObject({ version, json: z.record(z.string(), z.unknown()), what: line });

const LOG_KINDS = ['symptom', 'finding', 'replaced', 'proof', 'note'] as const;
export const newLogEntry = z.strictObject({
  unit: name,
  date: line.optional(),
  kind: z.enum(LOG_KINDS),
  text,
  points: z.array(name).max(100).optional(),
  suspects: z.array(name).max(100).optional(),
  note: line.optional(),
});
export type NewLogEntry = z.infer<typeof newLogEntry>;

export const photographChange = z.strictObject({
  version,
  board: name.optional(),
  side: name.optional(),
  turn: z.literal([0, 90, 180, 270]).optional(),
  mirrored: z.boolean().optional(),
  unit: line.optional(),
  note: line.optional(),
});
export type PhotographChange = z.infer<typeof photographChange>;
export const newPlacement = z.strictObject({
  board: name,
  side: name,
  unit: line.default(''),
  mark: name,
  x: share,
  y: share,
});
export const newBackup = z.strictObject({ to: z.string().min(1).max(4000).optional() });
