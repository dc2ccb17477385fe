/** What drives what: for the chosen point the stage in front of it and the way back to the edge, the loops, and what a unit's readings say. */

import { useRef } from 'react';
import type { FlowLoopView, FlowView, MachineView } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { useKeys } from '../keys.ts';
import { api, useLive } from '../live.ts';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { ChosenPoint } from './chosen-point.tsx';
import { Loops } from './loops.tsx';
import { PointChoice } from './point-choice.tsx';
import { Told } from './told.tsx';
import './flow.css';

export default function FlowPage({ at, query }: PageProps) {
  return (
    <WithMachine id={at.machine!} title="Flow">
      {(machine) => <Flow machine={machine} query={query} />}
    </WithMachine>
  );
}

function Flow({ machine, query }: { readonly machine: MachineView; readonly query: URLSearchParams }) {
  const id = String(machine.id);
  const unit = query.get('unit') ?? usualUnit(machine);
  const board = query.get('board') ?? '';
  const chosen = query.get('point') ?? undefined;
  const { flow } = api.machines[':id'];
  // Readings are judged once for all points: that takes longer than to follow a point.
  const judged = useLive(flow, unit === '' ? undefined : { param: { id }, query: { unit } });
  const found = useLive(flow, {
    param: { id },
    query: { ...(chosen !== undefined && { point: chosen }) },
  });
  // While the next answer is on its way, what was told last stays.
  const last = useRef<FlowView>(undefined);
  if (found.value) last.current = found.value;
  const wiring = found.value ?? last.current;
  const view = wiring && judged.value ? { ...judged.value, way: wiring.way } : wiring;
  const problem = found.problem ?? judged.problem;

  const points = (view?.points ?? []).filter((one) => board === '' || one.board === board);
  // A pin is known by its net once the answer is there.
  const known = view?.points.find((one) => one.point === chosen);
  const net = known?.point ?? view?.way[0]?.point ?? chosen;
  const point = known ?? view?.points.find((one) => one.point === net);
  const move = (change: { unit?: string; board?: string | undefined; point?: string }) =>
    go(
      address(`/m/${encodeURIComponent(id)}/flow`, {
        unit: query.get('unit') ?? undefined,
        board: board || undefined,
        point: chosen,
        ...change,
      }),
      { replace: true },
    );
  const choose = (name: string) => move({ point: name });
  const step = (by: number) => {
    const at = points.findIndex((one) => one.point === net);
    const next = points[at < 0 ? 0 : Math.min(points.length - 1, Math.max(0, at + by))];
    if (next) choose(next.point);
  };
  const before = point?.from[0]?.point;
  const back = () => before !== undefined && choose(before);
  const down = () => step(1);
  const up = () => step(-1);
  useKeys({ ArrowDown: down, ArrowUp: up, ArrowLeft: back });
  const loops = (view?.loops ?? []).flatMap((loop) => {
    if (net !== undefined) return loop.points.includes(net) ? [through(loop, net)] : [];
    return board === '' || points.some((one) => loop.points.includes(one.point)) ? [loop] : [];
  });
  return (
    <Frame
      title={`Signal flow of ${machine.name}`}
      machine={{ id, name: machine.name }}
      keys={[
        { caps: ['↑', '↓'], does: 'the point before, the next', foot: true },
        { caps: ['←'], does: 'one back, to what drives it', foot: true, press: back },
      ]}
      end={view && `${view.points.length} points`}
    >
      <div className="page-body flow">
        <div className="flow-head">
          <h1>Signal flow</h1>
          <label>
            <span className="label">Readings of</span>
            <select className="choice" value={unit} onChange={(event) => move({ unit: event.target.value })}>
              <option value="">no unit</option>
              {machine.units.map((one) => (
                <option key={one.id}>{one.id}</option>
              ))}
            </select>
          </label>
          <label>
            <span className="label">Board</span>
            <select
              className="choice"
              value={board}
              onChange={(event) => move({ board: event.target.value || undefined })}
            >
              <option value="">all boards</option>
              {machine.boards.map((one) => (
                <option key={one.name}>{one.name}</option>
              ))}
            </select>
          </label>
        </div>
        {problem && <p className="refusal">{problem.message}</p>}
        {!view ? (
          !problem && <p className="label">Following the wiring</p>
        ) : (
          <>
            {unit !== '' && !view.answer && !problem && (
              <p className="label flow-told">Judging the readings of {unit}</p>
            )}
            {view.answer && <Told unit={unit} answer={view.answer} onChoose={choose} />}
            {view.contradictions.length > 0 && (
              <section className="flow-told" aria-label="Contradictions">
                <h2>The drawn flow and the wiring do not agree</h2>
                <ul>
                  {view.contradictions.map((text) => (
                    <li key={text}>{text}.</li>
                  ))}
                </ul>
              </section>
            )}
            <div className="flow-sides">
              <PointChoice points={points} chosen={net} onChoose={choose} />
              <div className="flow-main">
                {point ? (
                  <ChosenPoint view={view} point={point} onChoose={choose} />
                ) : (
                  <p className="prose">Choose a point to see what drives it, and the way back to the edge.</p>
                )}
                <Loops loops={loops} caution={view.caution} of={net ?? board} onChoose={choose} />
              </div>
            </div>
          </>
        )}
      </div>
    </Frame>
  );
}

/** A loop with those of its ways around that a point is in. */
function through(loop: FlowLoopView, point: string): FlowLoopView {
  return { ...loop, rings: loop.rings.filter(({ points }) => points.includes(point)) };
}

function usualUnit({ units }: MachineView): string {
  return (
    (units.find(({ health }) => health === 'faulty') ?? units.find(({ health }) => health !== 'healthy'))
      ?.id ?? ''
  );
}
