/** What is asked and told about captures; see requests.ts. */
import { z } from 'zod';
import { understandingFrom } from '../capture/index.ts';
import { id, line, name, text } from './requests.ts';
import { refusePrototypes } from './routes/checked.ts';

const MOST_CHANNELS = 10_000;
const LONGEST_ABOUT = 100_000;

/** As an instrument or a person called it; a name with a way in it is none. */
const fileName = name.refine(
  (file) => !/[/\\]/.test(file) && !/^\.+$/.test(file),
  'is not the name of a file',
);
const facts = {
  unit: line.optional(),
  state: line.optional(),
  takenAt: line.optional(),
  instrument: line.optional(),
  note: text.optional(),
};
const points = z.array(line).max(MOST_CHANNELS).optional();

export const ofCapture = z.object({ id, capture: id });
export const ofChannel = z.object({
  id,
  capture: id,
  index: z.coerce.number().int().min(0).max(MOST_CHANNELS),
});

export const understoodQuery = z.object({
  file: fileName,
  separator: z.enum([',', ';', '\t', ' ']).optional(),
  decimal: z.enum(['.', ',']).optional(),
  instrument: line.optional(),
});

export type UnderstoodQuery = z.infer<typeof understoodQuery>;

const understanding = z.unknown().transform((value, context) => {
  const found = understandingFrom(value);
  if (found === undefined) context.addIssue({ code: 'custom', message: 'is no understanding of a text' });
  return found ?? z.NEVER;
});

const volts = z.number().min(-1e6).max(1e6);
const aboutCapture = z.strictObject({
  file: fileName,
  ...facts,
  understanding: understanding.optional(),
  fullScale: z.union([volts, z.array(volts).max(64)]).optional(),
  points,
});
export type AboutCapture = z.infer<typeof aboutCapture>;

/** `?about=` JSON, since the body is the file. */
export const captureQuery = z.object({
  about: z
    .string()
    .max(LONGEST_ABOUT)
    .transform((json, context): unknown => {
      try {
        const about: unknown = JSON.parse(json);
        refusePrototypes(about);
        return about;
      } catch (error) {
        if (!(error instanceof SyntaxError)) throw error;
        context.addIssue({ code: 'custom', message: 'is no JSON' });
        return z.NEVER;
      }
    })
    .pipe(aboutCapture),
});

export const captureChange = z.strictObject({
  version: z.number().int().min(0).optional(),
  ...facts,
  points,
});
export type CaptureChange = z.infer<typeof captureChange>;
