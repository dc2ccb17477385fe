/** The columns of a text file: what each is understood to be, to be corrected, above the first rows as the file has them. */

import type { MachineView, UnderstoodView } from '../../server/index.ts';
import type { Checked, ColumnDraft, Draft, FaultyField } from './draft.ts';
import { PointsList } from './facts-fields.tsx';

const ROLES: Readonly<Record<ColumnDraft['role'], string>> = {
  time: 'times',
  sequence: 'sample count',
  channel: 'channel',
  skip: 'not read',
};
/** Rows of numbers and of the heading that are shown. */
const NUMBERS = 4;
const HEADING = 4;

export function ColumnsTable({
  machine,
  draft,
  checked,
  rows,
  onChange,
}: {
  readonly machine: MachineView;
  readonly draft: Draft;
  readonly checked: Checked;
  readonly rows: UnderstoodView['rows'];
  readonly onChange: (column: number, change: Partial<ColumnDraft>) => void;
}) {
  const points = 'waves-points';
  const heading = Number(draft.headerLines);
  const above = rows.filter(({ line }) => line <= heading);
  const shown = [...above.slice(-HEADING), ...rows.filter(({ line }) => line > heading).slice(0, NUMBERS)];
  const field = (
    i: number,
    name: 'name' | 'unit' | 'factor' | 'probe' | 'offset' | 'point',
    label: string,
  ) => {
    const column = draft.columns[i]!;
    const fault = checked.faults.get(`${i}.${name}` as FaultyField);
    const said = `waves-fault-${i}-${name}`;
    return (
      <td key={`${i} ${name}`}>
        <input
          className="choice"
          aria-label={`${label}, column ${i + 1}`}
          aria-invalid={fault !== undefined}
          aria-describedby={fault ? said : undefined}
          value={column[name]}
          disabled={column.role === 'skip'}
          {...(name === 'point' ? { list: points } : {})}
          onChange={({ target }) => onChange(i, { [name]: target.value })}
        />
        {fault && (
          <span id={said} className="waves-fault">
            {fault}
          </span>
        )}
      </td>
    );
  };
  const all = draft.columns.map((_, i) => i);
  const channels = (i: number): boolean => draft.columns[i]!.role === 'channel';
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, which a keyboard must be able to do
    <section className="waves-columns" tabIndex={0} aria-label="Columns of the file">
      <PointsList machine={machine} id={points} />
      <table>
        <tbody>
          <tr>
            <th scope="row">holds</th>
            {all.map((i) => (
              <td key={i}>
                <select
                  className="choice"
                  aria-label={`What column ${i + 1} holds`}
                  value={draft.columns[i]!.role}
                  onChange={({ target }) => onChange(i, { role: target.value as ColumnDraft['role'] })}
                >
                  {Object.entries(ROLES).map(([role, words]) => (
                    <option key={role} value={role}>
                      {words}
                    </option>
                  ))}
                </select>
              </td>
            ))}
          </tr>
          <tr>
            <th scope="row">point</th>
            {all.map((i) => (channels(i) ? field(i, 'point', 'Point') : <td key={i} />))}
          </tr>
          <tr>
            <th scope="row">name</th>
            {all.map((i) => field(i, 'name', 'Name'))}
          </tr>
          <tr>
            <th scope="row">unit</th>
            {all.map((i) => field(i, 'unit', 'Unit'))}
          </tr>
          <tr>
            <th scope="row">
              times <span className="label">1e-3 for m</span>
            </th>
            {all.map((i) => field(i, 'factor', 'Factor'))}
          </tr>
          <tr>
            <th scope="row">probe divides by</th>
            {all.map((i) => (channels(i) ? field(i, 'probe', 'Probe factor') : <td key={i} />))}
          </tr>
          <tr>
            <th scope="row">then add</th>
            {all.map((i) => (channels(i) ? field(i, 'offset', 'Offset') : <td key={i} />))}
          </tr>
          {shown.map(({ line, cells }) => (
            <tr key={line} className={line > heading ? 'waves-cells' : 'waves-cells above'}>
              <th scope="row" className="label">
                line {line}
              </th>
              {all.map((i) => (
                <td key={i}>{cells[i] ?? ''}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
