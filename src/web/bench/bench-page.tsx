import { useState } from 'react';
import type { MachineView } from '../../server/index.ts';
import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import { api, useLive } from '../live.ts';
import { address, go } from '../router.ts';
import type { PageProps } from '../routes.tsx';
import { Bench } from './bench.tsx';
import type { Move } from './choices.tsx';

/** The bench: one machine, one unit, the state that the machine is in. */
export default function BenchPage({ at, query }: PageProps) {
  const id = at.machine!;
  const { value: machine, problem } = useLive(api.machines[':id'], { param: { id } });
  const [state, setState] = useState(query.get('state') ?? undefined);
  if (!machine) {
    return (
      <Frame title="Bench">
        <div className="page-body">
          {problem ? (
            <>
              <h1>This machine cannot be shown</h1>
              <p className="prose">{problem.message}</p>
              <p>
                <Link to="/">All machines</Link>
              </p>
            </>
          ) : (
            <p className="label">Reading the machine</p>
          )}
        </div>
      </Frame>
    );
  }
  const unit = unitOf(machine, query.get('unit'));
  const here = machine.states.find(({ name }) => name === (query.get('state') ?? state))?.name;
  const named = { id, name: machine.name };
  const missing =
    unit === undefined
      ? 'No unit is on record.'
      : machine.states.length === 0
        ? 'No state is on record: a state says how the machine is held while it is read.'
        : machine.points.length === 0
          ? 'No point is on record: a point is where a probe can go.'
          : undefined;
  if (missing !== undefined || unit === undefined) {
    return (
      <Frame title="Bench" machine={named}>
        <div className="page-body">
          <p className="label">Nothing to read yet</p>
          <h1 className="state-name">{missing}</h1>
          <p className="prose">
            Boards, points, states and units are written down among the sheets of the machine.
          </p>
        </div>
      </Frame>
    );
  }
  const move = (change: Move) => {
    if (change.state !== undefined) setState(change.state);
    const to = { unit, against: query.get('against') ?? undefined, state: here, ...change };
    go(address(`/m/${encodeURIComponent(id)}/bench`, to), { replace: true });
  };
  return (
    <Bench
      key={unit}
      machine={machine}
      unit={unit}
      against={query.get('against') ?? undefined}
      state={here}
      begin={{ point: query.get('point') ?? undefined, fault: query.get('fault') ?? undefined }}
      onMove={move}
    />
  );
}

/** The unit named, else the first that is called faulty, else the first one not healthy, else the first. */
function unitOf({ units }: MachineView, named: string | null): string | undefined {
  const one =
    units.find(({ id }) => id === named) ??
    units.find(({ health }) => health === 'faulty') ??
    units.find(({ health }) => health !== 'healthy') ??
    units[0];
  return one?.id;
}
