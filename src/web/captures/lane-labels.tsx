import { useEffect, useRef } from 'react';
import type { MachineView } from '../../server/index.ts';
import type { Arrangement, Group } from './lanes.ts';
import { labelHeights } from './lanes-canvas.tsx';
import type { Lane } from './picture.ts';

/** Names of the lanes, each a button that chooses its point. */
export function LaneLabels({
  lanes,
  groups,
  chosen,
  arrangement,
  machine,
  onChoose,
}: {
  readonly lanes: readonly Lane[];
  readonly groups: readonly Group[];
  readonly chosen: number;
  readonly arrangement: Arrangement;
  readonly machine: MachineView;
  readonly onChoose: (group: number) => void;
}) {
  const list = useRef<HTMLDivElement>(null);
  const { top, heights } = labelHeights(lanes);
  const sizes = `${top} ${heights.join(' ')}`;
  useEffect(() => {
    const element = list.current!;
    const [first, ...rest] = sizes.split(' ');
    element.style.paddingTop = `${first}rem`;
    [...element.children].forEach((child, i) => {
      (child as HTMLElement).style.height = `${rest[i]}rem`;
    });
  }, [sizes]);
  return (
    <div className="waves-labels" ref={list}>
      {lanes.map((lane) => {
        const index = groups.findIndex(
          ({ reference, other }) => reference?.key === lane.key || other?.key === lane.key,
        );
        const group = groups[index];
        const one = group?.reference ?? group?.other;
        if (!one) {
          const title = groups.flatMap(({ difference }) =>
            difference?.key === lane.key ? [difference.title] : [],
          )[0];
          return (
            <div key={lane.key} className="waves-label">
              {title && <span className="label">{title}</span>}
              {arrangement === 'overlay' && (
                <span className="waves-names">
                  {groups.map((other, i) => (
                    <button
                      key={other.reference?.key ?? other.other!.key}
                      type="button"
                      aria-pressed={i === chosen}
                      onClick={() => onChoose(i)}
                    >
                      {(other.reference ?? other.other)!.title}
                    </button>
                  ))}
                </span>
              )}
            </div>
          );
        }
        return (
          <div key={lane.key} className="waves-label">
            <button type="button" aria-pressed={index === chosen} onClick={() => onChoose(index)}>
              {one.title}
            </button>
            <span className="label">{machine.points.find(({ point }) => point === one.point)?.note}</span>
          </div>
        );
      })}
    </div>
  );
}
