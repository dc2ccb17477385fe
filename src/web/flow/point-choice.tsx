import { useEffect, useRef } from 'react';
import type { FlowPointView } from '../../server/index.ts';
import { Look } from './look.tsx';

/** The points to choose from, those of each board together. */
export function PointChoice({
  points,
  chosen,
  onChoose,
}: {
  readonly points: readonly FlowPointView[];
  readonly chosen: string | undefined;
  readonly onChoose: (point: string) => void;
}) {
  const list = useRef<HTMLElement>(null);
  const current = useRef<HTMLButtonElement>(null);
  // biome-ignore lint/correctness/useExhaustiveDependencies: it comes into sight when another is chosen
  useEffect(() => {
    const [frame, row] = [list.current, current.current].map((one) => one?.getBoundingClientRect());
    if (frame === undefined || row === undefined) return;
    // Only the list is moved: the browser's own way would move the page along.
    if (row.top < frame.top) list.current!.scrollTop += row.top - frame.top;
    else if (row.bottom > frame.bottom) list.current!.scrollTop += row.bottom - frame.bottom;
  }, [chosen]);
  const boards = [...new Set(points.map(({ board }) => board))];
  return (
    <nav ref={list} className="flow-points" aria-label="Points">
      {boards.map((board) => (
        <section key={board} aria-label={board || 'From outside'}>
          <h2 className="label">{board || 'From outside'}</h2>
          <ul>
            {points
              .filter((one) => one.board === board)
              .map(({ point, looks }) => (
                <li key={point}>
                  <button
                    type="button"
                    ref={point === chosen ? current : undefined}
                    aria-current={point === chosen || undefined}
                    onClick={() => onChoose(point)}
                  >
                    <Look looks={looks} /> {point}
                  </button>
                </li>
              ))}
          </ul>
        </section>
      ))}
    </nav>
  );
}
