import { type Finding, type Machine, pointNet } from '../machine/index.ts';
import {
  type Change,
  InputError,
  type LogEntry,
  type Photograph,
  type NewLogEntry as RecordLogEntry,
  type RecordSheet,
  type WorkshopRecord,
} from '../records/index.ts';
import { Desk, type DeskMachine, judgedFlow } from '../workbench/index.ts';
import { benchView, readingView } from './bench-view.ts';
import type { AboutCapture, CaptureChange, UnderstoodQuery } from './capture-requests.ts';
import { comparedMachine, compareView, RIGHT, readingSets, setNamed } from './compare-view.ts';
import { flowView } from './flow-view.ts';
import { findingView, machineView } from './machine-view.ts';
import { readingText } from './reading-text.ts';
import { captureNamed, captureView, stated, takeCapture, understoodView } from './record-captures.ts';
import type {
  ChangeView,
  HeadView,
  LogEntryView,
  PhotographView,
  PlacementView,
  SheetView,
} from './record-views.ts';
import { readingsWithin, repairRows } from './repair-view.ts';
import type { NewLogEntry, NewReading } from './requests.ts';
import { suspectsView, whatIfView } from './suspects-view.ts';
import type { EventView, SheetName } from './views.ts';
import { noWaves, wavesView } from './wave-view.ts';
import type { WavesView } from './wave-views.ts';
import type { Workshop } from './workshop.ts';

const MOST_CHANGES = 50;
/** Of waveforms that cannot be computed: an answer, not a refusal. */
const NO_ANSWER = ['no-waveform', 'no-capture'];

/** What the routes ask for, answered from the record and the desk. */
export class RecordWorkshop implements Workshop {
  readonly #record: WorkshopRecord;
  readonly #desk: Desk;
  readonly #clock: () => Date;
  readonly #listeners = new Set<(event: EventView) => void>();
  readonly #stop: () => void;

  /** @param mark  of the program that computes, for the fault tables that are kept; without it none is kept */
  constructor(record: WorkshopRecord, clock: () => Date, mark: string | undefined) {
    this.#record = record;
    this.#clock = clock;
    this.#desk = new Desk(this.#record, {
      mark,
      onTable: (machine, table) => this.#tell({ kind: 'table', machine, table }),
    });
    this.#stop = record.onChange((machines) => this.#tell({ kind: 'changed', machines }));
  }

  /** Ends the reckoning; the record stays open. */
  async close(): Promise<void> {
    this.#stop();
    this.#listeners.clear();
    await this.#desk.close();
  }

  machines() {
    return this.#record.machines();
  }

  removedMachines() {
    return this.#record.removedMachines();
  }

  createMachine(machine: Parameters<Workshop['createMachine']>[0]) {
    const { points, ...rest } = machine;
    return this.#record.createMachine({
      ...rest,
      ...(points && {
        points: points.map(({ point, note = '', caution = '' }) => ({ point, note, caution })),
      }),
    });
  }

  importMachine(files: ReadonlyMap<string, Uint8Array>, name?: string) {
    return this.#record.importFolder(files, { name });
  }

  async exportMachine(id: number) {
    const { name } = await this.#record.machine(id);
    return { name, files: await this.#record.folder(id) };
  }

  async removeMachine(id: number) {
    return this.#changed(id, await this.#record.removeMachine(id));
  }

  async machine(id: number) {
    return machineView(await this.#desk.machine(id), this.#desk.table(id));
  }

  async bench(id: number, { unit, against, state }: Parameters<Workshop['bench']>[1]) {
    const { entry, machine } = await this.#desk.sound(id);
    checkUnit(machine, unit);
    await this.#desk.begin(id);
    const [levels, readings] = await Promise.all([
      this.#desk.levels(id, unit, state),
      this.#record.readings(id, { condition: state }),
    ]);
    const answer = this.#desk.knownAnswer(entry, unit);
    return benchView(entry, unit, state, levels, readings, answer, against);
  }

  async suspects(id: number, unit: string, preview?: { state: string; point: string; value: string }) {
    const { entry, machine } = await this.#desk.sound(id);
    checkUnit(machine, unit);
    const asked = preview && { ...preview, value: readingText('V', preview.value).value };
    if (asked !== undefined) checkPlace(machine, asked);
    const answer = await this.#desk.answer(
      id,
      unit,
      asked && {
        unit,
        condition: asked.state,
        point: asked.point,
        quantity: 'V',
        value: asked.value,
        takenAt: this.#clock().toISOString(),
        instrument: '',
        note: '',
      },
    );
    const about = { revision: entry.revision, unit, preview: asked ?? null, table: this.#desk.table(id) };
    return suspectsView(machine, about, answer);
  }

  async whatIf(id: number, fault: string, state?: string) {
    const { entry, machine } = await this.#desk.sound(id);
    return whatIfView(machine, entry.revision, await this.#desk.whatIf(id, fault, state));
  }

  startTable(id: number) {
    return this.#desk.begin(id, true);
  }

  stopTable(id: number) {
    return this.#desk.stop(id);
  }

  async takeReading(id: number, { state, text, ambient, ...rest }: NewReading) {
    const { value, text: plain } = readingText(rest.quantity, text);
    const { reading, revision } = await this.#record.takeReading(id, {
      ...rest,
      condition: state,
      value: plain,
      ...(ambient === undefined ? {} : { ambient: String(ambient) }),
    });
    // Whoever has taken a reading asks for the suspects next. Not before the answer to this is on its way.
    if (this.#desk.table(id).state === 'ready') {
      setImmediate(() => void this.#desk.answer(id, rest.unit).catch(() => {}));
    }
    return { reading, revision, value };
  }

  async withdrawReading(id: number, reading: number) {
    return this.#changed(id, await this.#record.withdrawReading(id, reading));
  }

  async readings(id: number, { unit, state, point }: Parameters<Workshop['readings']>[1]) {
    return (await this.#record.readings(id, { unit, condition: state, point })).map(readingView);
  }

  async sheet(id: number, sheet: SheetName): Promise<SheetView> {
    const [found, content] = await Promise.all([this.#desk.machine(id), this.#record.sheet(id, sheet)]);
    return sheetView(found, sheet, content);
  }

  async changeSheet(
    id: number,
    sheet: SheetName,
    edits: Parameters<Workshop['changeSheet']>[2],
    what: string,
  ) {
    await this.#record.changeSheet(id, sheet, edits, what);
    return this.sheet(id, sheet);
  }

  async head(id: number): Promise<HeadView> {
    const [{ entry, findings }, head] = await Promise.all([this.#desk.machine(id), this.#record.head(id)]);
    return {
      revision: entry.revision,
      ...head,
      findings: ofFile(findings, 'machine.json').map((one) => findingView(one)),
    };
  }

  async changeHead(id: number, version: number, json: Readonly<Record<string, unknown>>, what: string) {
    await this.#record.changeHead(id, version, json, what);
    return this.head(id);
  }

  async compare(id: number, leftKey: string, rightKey: string) {
    const { entry, machine } = await this.#desk.sound(id);
    const sets = readingSets(machine);
    const [left, right] = [setNamed(sets, leftKey), setNamed(sets, rightKey)];
    const departures = await this.#desk.departures(comparedMachine(machine, left, right), RIGHT);
    return compareView(machine, entry.revision, [left, right], departures);
  }

  async flow(id: number, { unit, point }: Parameters<Workshop['flow']>[1]) {
    const { entry, machine } = await this.#desk.sound(id);
    if (unit === undefined) return flowView(machine, entry.revision, point, undefined);
    checkUnit(machine, unit);
    const judged = judgedFlow(machine, unit, await this.#desk.departures(machine, unit));
    return flowView(machine, entry.revision, point, judged);
  }

  async waves(
    id: number,
    { state, points, fault }: Parameters<Workshop['waves']>[1],
    signal: AbortSignal,
  ): Promise<WavesView> {
    const { entry, machine } = await this.#desk.sound(id);
    try {
      const found = await this.#desk.waves(id, { condition: state, points, fault }, signal);
      return wavesView(machine, entry.revision, found);
    } catch (error) {
      if (error instanceof InputError && NO_ANSWER.includes(error.code))
        return noWaves(entry.revision, state, error.message);
      throw error;
    }
  }

  async repair(id: number, { unit, from = '', until = '' }: Parameters<Workshop['repair']>[1]) {
    const { entry, machine } = await this.#desk.sound(id);
    checkUnit(machine, unit);
    const readings = readingsWithin(await this.#record.readings(id, { unit }), from, until);
    const states = machine.conditions.filter(({ name }) => readings.some((one) => one.condition === name));
    const levels = new Map<string, Awaited<ReturnType<Desk['levels']>>>();
    for (const { name } of states) levels.set(name, await this.#desk.levels(id, unit, name));
    const rows = repairRows(machine, readings, levels);
    return { revision: entry.revision, unit, rows, readings: readings.length };
  }

  async log(id: number, { unit, search }: Parameters<Workshop['log']>[1]) {
    const choice = { ...(unit === undefined ? {} : { unit }), ...(search === undefined ? {} : { search }) };
    return (await this.#record.log(id, choice)).map(logEntryView);
  }

  async addLogEntry(id: number, entry: NewLogEntry) {
    const { entry: added } = await this.#record.addLogEntry(id, logEntryOf(entry));
    return this.#logEntry(id, added);
  }

  async supersedeLogEntry(id: number, old: string, entry: NewLogEntry) {
    const { entry: added } = await this.#record.supersedeLogEntry(id, old, logEntryOf(entry));
    return this.#logEntry(id, added);
  }

  async photographs(id: number) {
    return (await this.#record.photographs(id)).map(photographView);
  }

  photographBytes(id: number, photograph: number) {
    return this.#record.photographBytes(id, photograph);
  }

  async addPhotograph(id: number, { file, ...facts }: Parameters<Workshop['addPhotograph']>[1]) {
    const { unit = '', takenAt = '', note = '' } = facts;
    const { photograph } = await this.#record.addPhotograph(id, { ...facts, file, unit, takenAt, note });
    return this.#photograph(id, photograph);
  }

  async changePhotograph(
    id: number,
    photograph: number,
    change: Parameters<Workshop['changePhotograph']>[2],
  ) {
    const { version, ...facts } = change;
    const given = Object.fromEntries(Object.entries(facts).filter(([, value]) => value !== undefined));
    await this.#record.changePhotograph(id, photograph, version, given);
    return this.#photograph(id, photograph);
  }

  async removePhotograph(id: number, photograph: number) {
    return this.#changed(id, await this.#record.removePhotograph(id, photograph));
  }

  async placements(id: number) {
    return (await this.#record.placements(id)).map(({ id: _, ...placement }) => placement);
  }

  async place(id: number, placement: PlacementView) {
    return this.#changed(id, await this.#record.place(id, placement));
  }

  async unplace(id: number, place: Omit<PlacementView, 'x' | 'y'>) {
    return this.#changed(id, await this.#record.unplace(id, place));
  }

  async captures(id: number) {
    return (await this.#record.captures(id)).map(captureView);
  }

  async understoodCapture(id: number, head: Uint8Array, query: UnderstoodQuery) {
    await this.#record.machine(id);
    return understoodView(this.#record, head, query);
  }

  addCapture(id: number, about: AboutCapture, pieces: AsyncIterable<Uint8Array>, total: number) {
    return takeCapture(this.#record, id, about, pieces, total, (event) => this.#tell(event));
  }

  async changeCapture(id: number, capture: number, { version, state, ...facts }: CaptureChange) {
    await this.#record.changeCapture(id, capture, version, stated({ ...facts, condition: state }));
    return captureNamed(this.#record, id, capture);
  }

  async removeCapture(id: number, capture: number) {
    return this.#changed(id, await this.#record.removeCapture(id, capture));
  }

  captureSamples(id: number, capture: number, index: number) {
    return this.#record.captureSamples(id, capture, index);
  }

  async changes(id: number, limit = MOST_CHANGES) {
    return (await this.#record.changes(id, limit)).map(changeView);
  }

  async undo(id: number) {
    const undone = await this.#record.undo(id);
    return undone === undefined ? null : changeView(undone);
  }

  async backup(to?: string) {
    const file = to ?? backupName(this.#record.path, this.#clock());
    return { file, ...(await this.#record.backup(file)) };
  }

  onEvent(listener: (event: EventView) => void) {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  #tell(event: EventView): void {
    for (const listener of this.#listeners) listener(event);
  }

  async #changed(id: number, change: Change): Promise<ChangeView> {
    const found = (await this.#record.changes(id, 1)).find((one) => one.id === change.id);
    return found === undefined
      ? { id: change.id, at: this.#clock().toISOString(), what: '', undoneBy: null }
      : changeView(found);
  }

  async #logEntry(id: number, entry: string): Promise<LogEntryView> {
    return logEntryView((await this.#record.log(id, {})).find((one) => one.id === entry)!);
  }

  async #photograph(id: number, photograph: number): Promise<PhotographView> {
    return photographView((await this.#record.photographs(id)).find((one) => one.id === photograph)!);
  }
}

function changeView({
  id,
  at,
  what,
  undoneBy = null,
}: {
  id: number;
  at: string;
  what: string;
  undoneBy?: number | null | undefined;
}): ChangeView {
  return { id, at, what, undoneBy };
}

function sheetView({ entry, findings }: DeskMachine, sheet: SheetName, content: RecordSheet): SheetView {
  const { columns, rows } = content;
  const own = ofFile(findings, `${sheet}.csv`);
  return {
    revision: entry.revision,
    sheet,
    columns,
    rows,
    findings: own.map((one) => findingView(one, rows)),
  };
}

function ofFile(findings: readonly Finding[], file: string): readonly Finding[] {
  return findings.filter((finding) => finding.file === file);
}

function words(text: string): readonly string[] {
  return text.split(/\s+/).filter((word) => word !== '');
}

function logEntryView({ supersededBy, points, suspects, ...entry }: LogEntry): LogEntryView {
  return {
    ...entry,
    points: words(points),
    suspects: words(suspects),
    superseded: supersededBy !== undefined,
  };
}

function logEntryOf({ points = [], suspects = [], ...entry }: NewLogEntry): RecordLogEntry {
  return { ...entry, points: points.join(' '), suspects: suspects.join(' ') };
}

function photographView({
  id,
  version,
  file,
  size,
  board,
  side,
  unit,
  takenAt,
  turn,
  mirrored,
  note,
}: Photograph): PhotographView {
  return { id, version, file, size, board, side, unit, takenAt, turn, mirrored, note };
}

function checkUnit(machine: Machine, unit: string): void {
  if (machine.units.some(({ id }) => id === unit)) return;
  throw new InputError('unknown-unit', `there is no unit ${JSON.stringify(unit)}`);
}

function checkPlace(machine: Machine, { state, point }: { state: string; point: string }): void {
  if (!machine.conditions.some(({ name }) => name === state))
    throw new InputError('unknown-condition', `there is no state ${JSON.stringify(state)}`);
  if (pointNet(machine, point) === undefined)
    throw new InputError('unknown-point', `there is no point ${JSON.stringify(point)}`);
}

function backupName(record: string, now: Date): string {
  return `${record}.${now.toISOString().slice(0, 19).replaceAll(':', '-')}.backup`;
}
