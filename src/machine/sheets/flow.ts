import { shown } from '../finding.ts';
import type { FlowStage } from '../model.ts';
import type { Sheet } from '../sheet.ts';
import type { SheetRow } from '../sheet-row.ts';

/** flow.csv: what is known of the signal flow where the wiring is not traced. */
export const FLOW: Sheet<FlowStage> = {
  file: 'flow.csv',
  columns: ['board', 'stage', 'inputs', 'outputs', 'breaks', 'note'],
  required: ['board', 'stage'],
  numeric: [],
  read: stage,
  key: ({ board, stage }) => `${board}/${stage}`,
  repeat: {
    severity: 'error',
    code: 'duplicate',
    column: 'stage',
    message: ({ board, stage }, first) =>
      `${board}/${stage} stands in row ${first} already; rename one or join the rows`,
  },
  cells: ({ board, stage, inputs, outputs, breaks, note }) => ({
    board,
    stage,
    inputs: inputs.join(' '),
    outputs: outputs.join(' '),
    breaks,
    note,
  }),
};

function stage(row: SheetRow): FlowStage | undefined {
  const board = row.needed('board', 'the name of the board');
  const stage = row.needed('stage', 'a name for the stage');
  if (/[/:]/.test(board))
    row.error('bad-name', 'board', `board ${shown(board)} holds a slash or colon, which names are split at`);
  if (/[/:]/.test(stage))
    row.error('bad-name', 'stage', `stage ${shown(stage)} holds a slash or colon, which names are split at`);
  const inputs = words(row.text('inputs'));
  const outputs = words(row.text('outputs'));
  const breaks = row.text('breaks');
  if (/\s/.test(breaks))
    row.error(
      'bad-name',
      'breaks',
      `${shown(breaks)} is more than one net; name the one where the loop is opened`,
    );
  if (inputs.length + outputs.length === 0) {
    row.warning(
      'missing',
      'outputs',
      'neither inputs nor outputs; name the nets that go in and out, with spaces between',
    );
  }
  return board === '' || stage === ''
    ? undefined
    : { board, stage, inputs, outputs, breaks, note: row.raw('note') };
}

function words(text: string): string[] {
  return text === '' ? [] : text.split(/\s+/);
}
