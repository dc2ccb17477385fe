import { useMemo, useRef } from 'react';
import type { MachineView, PointView, SuspectsView } from '../../server/index.ts';
import { itemsOf } from '../bench/rows.ts';
import { api, useLive } from '../live.ts';
import { type Axis, axisOf, Scale, volts } from '../strip/index.ts';
import { Decides } from './decides.tsx';
import { type Group, pagesOf } from './pagination.ts';
import {
  CautionBox,
  type Format,
  HEIGHT_MM,
  healthyBeside,
  Paper,
  PaperStrip,
  PaperSuspects,
  printedWords,
  rangeWords,
  STRIP_WIDTH,
  useMeasured,
} from './paper.tsx';

type Row = Extract<ReturnType<typeof itemsOf>[number], { kind: 'row' }> & { readonly line: number };

/** Millimetres, as the style sheet has them. */
const HEIGHTS = { row: 7, group: 5.5, scale: 11 };
/** Lines that are marked as the first to read. */
const MARKED = 3;
const ORDER = ['first', '2nd', '3rd'];

export function BenchSheet({
  machine,
  unit,
  state,
  board,
  most,
  suspects,
  format,
}: {
  readonly machine: MachineView;
  readonly unit: string;
  readonly state: string;
  readonly board: string;
  /** Minutes that a reading may cost. */
  readonly most: number;
  readonly suspects: SuspectsView | undefined;
  readonly format: Format;
}) {
  const param = { id: String(machine.id) };
  const bench = useLive(api.machines[':id'].bench, { param, query: { unit, state } });
  const taken = useLive(api.machines[':id'].readings, { param, query: { unit } }).value;
  const healthy = healthyBeside(machine, unit);
  const axes = useMemo(() => machine.families.map(axisOf), [machine]);
  const groups = useMemo(
    () =>
      groupsOf(
        machine.points.filter((one) => one.board === board && one.minutes <= most),
        bench.value?.rows ?? [],
      ),
    [machine, board, most, bench.value],
  );
  const lines = groups.flatMap(({ rows }) => rows);
  const order = (suspects?.next ?? [])
    .filter((one) => one.state === state)
    .flatMap((one) => lines.find(({ point }) => point.point === one.point) ?? [])
    .slice(0, MARKED);
  const marks = new Map(order.map(({ line }, i) => [line, ORDER[i]!]));
  const box = useRef<HTMLDivElement>(null);
  const { all, below } = useMeasured(
    box,
    `${bench.value?.revision} ${suspects?.revision} ${suspects?.table.state} ${lines.length}`,
  );
  // What stands below the table on the first sheet is not on the later ones.
  const room = HEIGHT_MM[format] - all;
  const pages = pagesOf(groups, HEIGHTS, [room, room + below]);
  if (bench.problem) return <p className="refusal">{bench.problem.message}</p>;
  if (!bench.value) return <p className="label">Working out what a sound unit reads</p>;

  const { steps } = machine.states.find(({ name }) => name === state)!;
  const boardCaution = machine.boards.find(({ name }) => name === board)?.caution ?? '';
  const known = machine.units.find(({ id }) => id === unit)?.health;
  const health = known === 'unknown' ? 'unit at hand' : `${known} unit`;
  const counted = (taken ?? []).filter(({ standing }) => standing === 'counts').length;
  const place = board || 'between boards';
  const next = suspects?.next[0];
  const firstLine = order[0];
  return pages.map((page, i) => (
    // biome-ignore lint/suspicious/noArrayIndexKey: a page is its place
    <div key={i} ref={i === 0 ? box : undefined}>
      <Paper
        format={format}
        title={`Bench sheet: ${board ? `board ${board}` : place}, ${state}`}
        sheet={`sheet ${i + 1} of ${pages.length}`}
        foot={[printedWords(counted), `machine description ${machine.mark}, sheet ${place}-${i + 1}`]}
      >
        <div className="sheet-intro" data-measure="">
          <p>
            {machine.name}.{' '}
            {healthy.length > 0 && (
              <>
                Healthy unit{healthy.length > 1 ? 's' : ''} <b>{healthy.join(', ')}</b> (ring);{' '}
              </>
            )}
            {health} <b>{unit}</b>. {steps ? `Set: ${sentence(steps)}` : ''} Readings in volts against{' '}
            {machine.reference}. The hatched box and the range beside it are where a sound unit reads.
            {order.length > 0 && (
              <>
                {' '}
                Read line <b>{order[0]!.line}</b> first
                {order.length > 1 &&
                  `, then ${order
                    .slice(1)
                    .map(({ line }) => line)
                    .join(', ')}`}
                .
              </>
            )}
          </p>
          <dl className="sheet-lines">
            {!steps && <WriteLine label="State set by" />}
            <WriteLine label="Date" />
            <WriteLine label="Room, °C" />
            <WriteLine label="Meter" />
            <WriteLine label="Read by" />
          </dl>
        </div>
        <CautionBox own={cautions(lines, boardCaution)} />
        <table className="sheet-table">
          <thead data-measure="">
            <tr>
              <th scope="col">
                <span className="aside">line</span>
              </th>
              <th scope="col">point</th>
              <th scope="col">
                <span className="aside">sound band and healthy reading</span>
                <Scale axis={axes[page[0]?.family ?? 0]!} width={STRIP_WIDTH[format]} />
              </th>
              <th scope="col">sound, V</th>
              <th scope="col">{healthy[0] ?? ''}</th>
              <th scope="col" className="own">
                {unit}
              </th>
              <th scope="col">in box</th>
              <th scope="col">
                <span className="aside">order</span>
              </th>
            </tr>
          </thead>
          {page.map((group, g) => (
            <tbody key={`${group.text} ${group.rows[0]!.line}`}>
              {g > 0 && page[g - 1]!.family !== group.family && (
                <tr className="sheet-scale">
                  <td colSpan={2} />
                  <td>
                    <Scale axis={axes[group.family]!} width={STRIP_WIDTH[format]} />
                  </td>
                  <td colSpan={5} />
                </tr>
              )}
              <tr className="sheet-group">
                <td />
                <th scope="colgroup" colSpan={7}>
                  {group.text}
                </th>
              </tr>
              {group.rows.map((one) => (
                <SheetRow
                  key={one.point.point}
                  item={one}
                  axis={axes[group.family]!}
                  healthy={healthy}
                  format={format}
                  mark={marks.get(one.line) ?? ''}
                />
              ))}
            </tbody>
          ))}
        </table>
        {i === 0 && suspects && (
          <div className="sheet-below" data-measure="" data-below="">
            {firstLine && next && next.point === firstLine.point.point && next.state === state ? (
              <Decides
                machine={machine}
                suspects={suspects}
                next={next}
                line={firstLine.line}
                lines={lines}
              />
            ) : (
              <div>
                <h3>What to read first</h3>
                <p>
                  {next
                    ? `${next.point} in the state ${next.state} tells most; it is not on this sheet.`
                    : suspects.table.state === 'ready'
                      ? 'No reading parts the suspects any further.'
                      : 'Begin with the symptom: an output that is wrong, in a state where it is wrong.'}
                </p>
              </div>
            )}
            <div>
              <h3>Suspects before this sheet</h3>
              {suspects.table.state === 'ready' ? (
                <PaperSuspects answer={suspects} />
              ) : (
                <p>The faults of this circuit are not worked out yet.</p>
              )}
            </div>
          </div>
        )}
      </Paper>
    </div>
  ));
}

function WriteLine({ label }: { readonly label: string }) {
  return (
    <div>
      <dt>{label}</dt>
      <dd />
    </div>
  );
}

function SheetRow({
  item: { row, name, line },
  axis,
  healthy,
  format,
  mark,
}: {
  readonly item: Row;
  readonly axis: Axis;
  readonly healthy: readonly string[];
  readonly format: Format;
  readonly mark: string;
}) {
  const rings = healthy.flatMap((unit) =>
    row.twins.filter((twin) => twin.unit === unit).map(({ value }) => value),
  );
  return (
    <tr className="sheet-row">
      <td>{line}</td>
      <th scope="row">{name}</th>
      <td>
        <PaperStrip
          axis={axis}
          width={STRIP_WIDTH[format]}
          sound={row.sound}
          learnt={row.learnt}
          healthy={rings}
        />
      </td>
      <td>{row.sound ? rangeWords(row.sound) : 'not known'}</td>
      <td>{rings[0] === undefined ? '' : volts(rings[0])}</td>
      <td className="own">
        <span className="write" />
      </td>
      <td>
        <span className="tick" />
      </td>
      <td>{mark}</td>
    </tr>
  );
}

/** Points in signal order under their stages, with the lines numbered. */
function groupsOf(points: readonly PointView[], rows: Parameters<typeof itemsOf>[1]): Group<Row>[] {
  const groups: { text: string; family: number; rows: Row[] }[] = [];
  let line = 0;
  // No family's scale stands elsewhere: the items' own scales are left to the pages.
  for (const item of itemsOf(points, rows, -1)) {
    if (item.kind === 'group') groups.push({ text: item.text, family: item.family, rows: [] });
    if (item.kind === 'row') groups.at(-1)!.rows.push({ ...item, line: ++line });
  }
  return groups;
}

/** Of the board, and of all lines; lines that share a caution stand together. */
function cautions(rows: readonly Row[], board: string): string[] {
  const lines = new Map<string, number[]>();
  for (const { point, line } of rows) {
    // A point's caution has its board's behind it.
    const own = board === '' ? point.caution : point.caution.replace(board, '').replace(/; $/, '');
    if (own !== '') lines.set(own, [...(lines.get(own) ?? []), line]);
  }
  return [
    ...(board === '' ? [] : [`This board: ${sentence(board)}`]),
    ...[...lines].map(([text, at]) => `Line${at.length > 1 ? 's' : ''} ${at.join(', ')}: ${sentence(text)}`),
  ];
}

function sentence(text: string): string {
  return text.replace(/[.;,\s]*$/, '.');
}
