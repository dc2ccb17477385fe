import type { FlowStage } from '../../src/machine/index.ts';
import type { Sheet } from './sheet.ts';

/** Nets that feed several boards: they are no way of the signal. */
const SUPPLIES: ReadonlySet<string> = new Set(['0V', '-24F', '-12V', '-6V', '+6V']);

/**
 * The stages of boards, in the order in which they were drawn up. A stage puts out the nets of its collectors, or emitters where the
 * collector is on a supply, and those that no transistor puts out and it is the first to touch. It takes in the others that it touches.
 */
export function flowOf(sheets: readonly Sheet[]): readonly FlowStage[] {
  const staged = sheets.flatMap((sheet) =>
    sheet.parts
      .map((part) => ({ part, board: sheet.board, stage: sheet.stageOf(part) }))
      .filter(({ stage }) => stage !== ''),
  );
  const touched = new Map<string, { board: string; stage: string; nets: Set<string> }>();
  const owner = new Map<string, string>();
  const own = (net: string, key: string): void => {
    if (!SUPPLIES.has(net) && !owner.has(net)) owner.set(net, key);
  };
  for (const { part, board, stage } of staged) {
    const key = `${board}\n${stage}`;
    const entry = touched.get(key) ?? { board, stage, nets: new Set() };
    touched.set(key, entry);
    for (const { net } of part.pins) if (!SUPPLIES.has(net)) entry.nets.add(net);
    if (part.kind !== 'transistor') continue;
    const [emitter, , collector] = part.pins;
    own(SUPPLIES.has(collector!.net) ? emitter!.net : collector!.net, key);
  }
  for (const { part, board, stage } of staged)
    for (const { net } of part.pins) own(net, `${board}\n${stage}`);
  return [...touched].map(([key, { board, stage, nets }]) => ({
    board,
    stage,
    inputs: [...nets].filter((net) => owner.get(net) !== key),
    outputs: [...nets].filter((net) => owner.get(net) === key),
    breaks: '',
    note: '',
  }));
}
