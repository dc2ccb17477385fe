/** What the bench asks the server, and which state it is asked for. */

import { useMemo } from 'react';
import type {
  BenchView,
  MachineView,
  ReadingView,
  SuspectsView,
  TableView,
  WhatIfView,
} from '../../server/index.ts';
import { api, type Live, useLive, useTable } from '../live.ts';

export interface Asking {
  readonly machine: MachineView;
  readonly unit: string;
  readonly against: string | undefined;
  /** The state that the machine is in; undefined until somebody has said so. */
  readonly settled: string | undefined;
  /** `PART:MODE` of a what-if; empty for none. */
  readonly fault: string;
}

export interface Answers {
  /** The state that is shown. */
  readonly state: string;
  /** Enough is known to ask for a point; before that the page would only guess, and then change its mind. */
  readonly known: boolean;
  readonly bench: Live<BenchView>;
  readonly ranking: Live<SuspectsView>;
  readonly table: TableView;
  readonly whatIf: Live<WhatIfView>;
  /** Healthy units that are compared with. */
  readonly healthy: readonly string[];
}

export function useAnswers({ machine, unit, against, settled, fault }: Asking): Answers {
  const param = { id: String(machine.id) };
  const ranking = useLive(api.machines[':id'].suspects, { param, query: { unit } });
  const answer = ranking.value;
  const progress = useTable(machine.id);
  // On arrival nobody has said how the machine stands: the best reading's state is proposed, and waits to be confirmed.
  const state = settled ?? (answer?.next[0]?.state || machine.states[0]!.name);
  const soon =
    answer === undefined ||
    (coming(answer.table) && (progress === undefined || coming(progress) || progress.state === 'ready'));
  const known = settled !== undefined || !soon || ranking.problem !== undefined;
  const bench = useBenchView(machine, unit, against, known ? state : undefined);
  const whatIf = useLive(
    api.machines[':id']['what-if'],
    fault === '' ? undefined : { param, query: { fault, state } },
  );
  const healthy = useMemo(
    () =>
      against !== undefined
        ? [against]
        : machine.units.filter((one) => one.health === 'healthy' && one.id !== unit).map((one) => one.id),
    [machine, unit, against],
  );
  return {
    state,
    known,
    bench,
    ranking,
    table: progress ?? answer?.table ?? machine.table,
    whatIf,
    healthy,
  };
}

/** A table that is kept is there in a moment; only one that has to be worked out is not waited for. */
function coming({ state, total, message }: TableView): boolean {
  return total === 0 && (state === 'none' || state === 'working') && message === '';
}

/** The points in one state; nothing is asked without one. */
export function useBenchView(
  machine: MachineView,
  unit: string,
  against: string | undefined,
  state: string | undefined,
): Live<BenchView> {
  return useLive(
    api.machines[':id'].bench,
    state === undefined
      ? undefined
      : {
          param: { id: String(machine.id) },
          query: { unit, state, ...(against === undefined ? {} : { against }) },
        },
  );
}

/** This unit's own readings at one point that a later one has taken the place of, volts, the oldest first. */
export function useHistory(
  machine: MachineView,
  unit: string,
  place: { readonly state: string; readonly point: string } | undefined,
): readonly number[] {
  const { value } = useLive(
    api.machines[':id'].readings,
    place && { param: { id: String(machine.id) }, query: { unit, state: place.state, point: place.point } },
  );
  return useMemo(() => earlier(value ?? []), [value]);
}

function earlier(readings: readonly ReadingView[]): number[] {
  return readings.flatMap(({ standing, value }) =>
    standing === 'superseded' && value !== null ? [value] : [],
  );
}
