import { type CaptureWish, firstRows, understandingFaults } from '../capture/index.ts';
import type { NewCapture, CaptureEntry as RecordCapture, WorkshopRecord } from '../records/index.ts';
import type { AboutCapture, UnderstoodQuery } from './capture-requests.ts';
import type { CaptureEntry, TakenCapture, UnderstoodView } from './capture-views.ts';
import { findingView } from './machine-view.ts';
import type { EventView } from './views.ts';

/** Rows that show a person how a file is parted into cells. */
const ROWS_SHOWN = 40;
/** How often one is told how far a file is read. */
const TELL_MS = 100;

export function captureView({ condition, ...entry }: RecordCapture): CaptureEntry {
  return { ...entry, state: condition };
}

export async function understoodView(
  record: WorkshopRecord,
  head: Uint8Array,
  { file, separator, decimal, instrument = '' }: UnderstoodQuery,
): Promise<UnderstoodView> {
  const form = { ...(separator && { separator }), ...(decimal && { decimal }) };
  const { kind, understanding, remembered, findings, fullScale } = await record.understoodCapture(
    head,
    file,
    {
      form,
      instrument,
    },
  );
  return {
    kind,
    understanding: understanding ?? null,
    rows: understanding === undefined ? [] : firstRows(head, understanding, ROWS_SHOWN),
    faults: understanding === undefined ? [] : understandingFaults(understanding),
    findings: understanding === undefined ? findings.map((finding) => findingView(finding)) : [],
    remembered,
    fullScale: typeof fullScale === 'object' ? fullScale.map((volts) => volts ?? null) : (fullScale ?? null),
  };
}

/** Reads a file into the record and tells how far it is. @param total  bytes; 0 when nobody has said */
export async function takeCapture(
  record: WorkshopRecord,
  machine: number,
  { understanding, fullScale, state, ...about }: AboutCapture,
  pieces: AsyncIterable<Uint8Array>,
  total: number,
  tell: (event: EventView) => void,
): Promise<TakenCapture> {
  const wish: CaptureWish = { understanding, fullScale };
  const capture: NewCapture = { ...stated(about), file: about.file, ...stated({ condition: state }), wish };
  const { file } = about;
  let told = performance.now();
  const taken = await record.addCapture(machine, capture, pieces, (done) => {
    if (performance.now() - told < TELL_MS) return;
    told = performance.now();
    tell({ kind: 'reading', machine, file, done, total: Math.max(done, total) });
  });
  const findings = taken.findings.map((finding) => findingView(finding));
  return { ...(await captureNamed(record, machine, taken.capture)), findings };
}

export async function captureNamed(
  record: WorkshopRecord,
  machine: number,
  capture: number,
): Promise<CaptureEntry> {
  return captureView((await record.captures(machine)).find(({ id }) => id === capture)!);
}

/** Without what nobody has said. */
export function stated<T extends object>(facts: T): { [K in keyof T]?: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== undefined)) as {
    [K in keyof T]?: Exclude<T[K], undefined>;
  };
}
