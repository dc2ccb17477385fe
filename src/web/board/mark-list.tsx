/** The marks of a board as a list: found here and shown there, and the other way round. */

import { useEffect, useMemo, useRef } from 'react';
import type { BenchRow, MachineView } from '../../server/index.ts';
import { RingMark, VerdictMark } from '../marks.tsx';
import { axisOf, Scale, Strip, stripWords, volts } from '../strip/index.ts';
import type { Mark, MarkKind } from './marks.ts';

export type ListKind = 'parting' | MarkKind;

const LISTS: readonly (readonly [ListKind, string])[] = [
  ['parting', 'Departures'],
  ['points', 'Points'],
  ['pins', 'Pins'],
  ['parts', 'Parts'],
];
const STRIP = { width: 176, height: 25 };

export function MarkList({
  machine,
  unit,
  list,
  marks,
  chosen,
  rows,
  orders,
  fieldOf,
  onList,
  onChoose,
}: {
  readonly machine: MachineView;
  readonly unit: string | undefined;
  readonly list: ListKind;
  readonly marks: readonly Mark[];
  readonly chosen: string | undefined;
  readonly rows: ReadonlyMap<string, BenchRow>;
  readonly orders: ReadonlyMap<string, number>;
  readonly fieldOf: (name: string) => { readonly field: string | undefined; readonly exact: boolean };
  readonly onList: (list: ListKind) => void;
  readonly onChoose: (name: string) => void;
}) {
  const here = useRef<HTMLLIElement>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: the row comes into sight when another one is chosen
  useEffect(() => {
    // Its list is moved, never the page: the picture must stay where it is.
    const row = here.current;
    const list = row?.closest<HTMLElement>('.mark-list > ul');
    const scroller =
      list && list.scrollHeight > list.clientHeight ? list : row?.closest<HTMLElement>('.board-side');
    if (!row || !scroller || scroller.scrollHeight <= scroller.clientHeight) return;
    const [one, all] = [row.getBoundingClientRect(), scroller.getBoundingClientRect()];
    if (one.top < all.top) scroller.scrollTop -= all.top - one.top;
    else if (one.bottom > all.bottom) scroller.scrollTop += one.bottom - all.bottom;
  }, [chosen, list]);
  const axes = useMemo(() => machine.families.map(axisOf), [machine]);
  const familyOf = useMemo(
    () => new Map(machine.points.map(({ point, family }) => [point, family])),
    [machine],
  );
  const withLevels = list === 'parting' || list === 'points';
  const families = new Set(marks.map(({ name }) => familyOf.get(name) ?? 0));
  const only = withLevels && families.size === 1 ? [...families][0] : undefined;
  const read = [...rows.values()];
  const count = (verdict: string) => read.filter((row) => row.verdict === verdict).length;
  return (
    <section className="mark-list" aria-label="Marks of this board">
      <fieldset className="list-names" aria-label="What is listed">
        {LISTS.map(([kind, words]) => (
          <button key={kind} type="button" aria-pressed={kind === list} onClick={() => onList(kind)}>
            {words}
          </button>
        ))}
      </fieldset>
      {withLevels && unit !== undefined && (
        <div className="list-head label" aria-hidden="true">
          <span>{list === 'parting' ? 'Where the twins part' : 'In signal order'}</span>
          <span>{unit}, V</span>
        </div>
      )}
      <ul className={withLevels ? '' : 'plain'}>
        {marks.map((mark) => {
          const row = rows.get(mark.name);
          const { field, exact } = fieldOf(mark.name);
          const family = familyOf.get(mark.name) ?? 0;
          const input = {
            sound: row?.sound ?? null,
            learnt: row?.learnt ?? false,
            healthy: row?.twins.map(({ value }) => value) ?? [],
            reading: row?.reading?.value ?? null,
            setAside: row?.reading?.setAside ?? false,
          };
          const current = mark.name === chosen;
          const order = orders.get(mark.name);
          const departs = row?.verdict === 'departs';
          const where = field === undefined ? 'not placed' : exact ? field : `near ${field}`;
          const words = withLevels
            ? `${stripWords(input, { point: mark.name, unit: unit ?? '', healthy: row?.twins.map((twin) => twin.unit) ?? [] })} ${where}.`
            : `${mark.name}, ${where}.`;
          return (
            <li key={mark.name} ref={current ? here : undefined}>
              <button
                type="button"
                className={`mark-row ${current ? 'is-chosen' : ''}`}
                aria-current={current ? 'true' : undefined}
                aria-label={words + (order ? ` Asked for as number ${order}.` : '')}
                onClick={() => onChoose(mark.name)}
              >
                <span className="mark-name">{mark.short}</span>
                <span className={`mark-field ${field === undefined ? 'unplaced' : ''}`}>
                  {field === undefined ? '–' : exact ? field : `(${field})`}
                </span>
                {withLevels ? (
                  <>
                    <Strip input={input} axis={axes[family]!} width={STRIP.width} height={STRIP.height} />
                    <span className={`mark-value ${departs ? 'departs' : ''}`}>
                      {row?.reading ? volts(row.reading.value) : '· · ·'}
                    </span>
                  </>
                ) : (
                  <span className="label mark-net">{mark.net}</span>
                )}
              </button>
            </li>
          );
        })}
      </ul>
      {only !== undefined && marks.length > 0 && (
        <div className="list-scale">
          <Scale axis={axes[only]!} width={STRIP.width} />
        </div>
      )}
      {marks.length === 0 && <p className="label">Nothing to list here.</p>}
      {withLevels && read.length > 0 && (
        <p className="prose list-words">
          {summary(
            count('departs'),
            count('doubtful'),
            count('sound'),
            read.filter(({ reading }) => !reading).length,
          )}
        </p>
      )}
      <ul className="picture-legend">
        <li>
          <svg width="20" height="20" viewBox="0 0 20 20" aria-hidden="true">
            <circle cx="10" cy="10" r="6.5" fill="none" stroke="var(--ink)" strokeWidth="2" />
            <circle cx="10" cy="10" r="3" fill="var(--ink)" />
          </svg>
          both units agree
        </li>
        <li>
          <RingMark size={1.1} /> {unit ?? 'the unit'} not read yet
        </li>
        <li>
          <VerdictMark verdict="departs" toward="right" size={1.1} /> departs, towards the positive rail
        </li>
        <li>
          <VerdictMark verdict="departs" toward="left" size={1.1} /> departs, towards the negative rail
        </li>
      </ul>
    </section>
  );
}

/** Of the whole machine in this state. */
function summary(departs: number, doubtful: number, sound: number, unread: number): string {
  if (departs + doubtful + sound === 0) return 'Nothing is read in this state yet.';
  const parts = [
    `${sound} ${sound === 1 ? 'point is' : 'points are'} sound`,
    ...(departs > 0 ? [`${departs} ${departs === 1 ? 'departs' : 'depart'}`] : []),
    ...(doubtful > 0 ? [`${doubtful} doubtful`] : []),
    ...(unread > 0 ? [`${unread} not read`] : []),
  ];
  return `On all boards in this state: ${parts.join(', ')}.`;
}
