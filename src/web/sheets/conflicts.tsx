import type { EditQueue, RowConflict } from './edit-queue.ts';

/** Rows that somebody else has changed while they were written: both, side by side, and nothing overwritten until one is chosen. */
export function Conflicts({
  conflicts,
  queue,
}: {
  readonly conflicts: readonly RowConflict[];
  readonly queue: EditQueue;
}) {
  return conflicts.map((conflict) => {
    const { row, mine, theirs } = conflict;
    return (
      <section className="conflict" key={`${row.key} ${conflict.version}`} role="alert">
        <h2>
          {theirs
            ? 'This row was changed elsewhere while you wrote. Nothing is overwritten yet.'
            : 'This row was removed elsewhere while you wrote.'}
        </h2>
        <table>
          <thead className="label">
            <tr>
              <th scope="col">{firstCells(row.cells)}</th>
              <th scope="col">now on record</th>
              <th scope="col">yours</th>
            </tr>
          </thead>
          <tbody>
            {Object.entries(mine).map(([column, text]) => (
              <tr key={column}>
                <th scope="row" className="label">
                  {column}
                </th>
                <td>{theirs ? theirs[column] || 'empty' : 'removed'}</td>
                <td>
                  <b>{text || 'empty'}</b>
                </td>
              </tr>
            ))}
          </tbody>
        </table>
        <div className="form-end">
          <button type="button" className="button" onClick={() => queue.settle(conflict, 'theirs')}>
            Leave what is on record
          </button>
          <button type="button" className="button main" onClick={() => queue.settle(conflict, 'mine')}>
            {theirs ? 'Write mine over it' : 'Write the row again'}
          </button>
        </div>
      </section>
    );
  });
}

function firstCells(cells: Readonly<Record<string, string>>): string {
  return Object.values(cells)
    .filter((text) => text !== '')
    .slice(0, 2)
    .join(' ');
}
