/** The side of the bench: suspects, why, what is to be known, what if. */

import { lazy, type Ref, Suspense } from 'react';
import type { MachineView, SuspectsView } from '../../server/index.ts';
import { api, told } from '../live.ts';
import type { Axis } from '../strip/index.ts';
import type { Answers } from './answers.ts';
import { Suspects, TableWork } from './suspects.tsx';
import { useLeft } from './timing.ts';
import { Remarks, Why } from './why.tsx';
import './why.css';

const WhatIfPanel = lazy(() => import('./what-if.tsx'));

export interface SideProps {
  readonly ref: Ref<HTMLDivElement>;
  readonly machine: MachineView;
  readonly answers: Answers;
  readonly axes: readonly Axis[];
  readonly typed: number | undefined;
  readonly preview: SuspectsView | undefined;
  readonly letters: ReadonlyMap<string, string>;
  /** Key of the suspect that is opened; the first one without it. */
  readonly opened: string | undefined;
  readonly fault: string;
  readonly onOpen: (key: string) => void;
  readonly onFault: (fault: string) => void;
  readonly onPoint: (state: string, point: string) => void;
}

export function Side(props: SideProps) {
  const { machine, answers, axes, typed, preview, letters, opened, fault, onOpen, onFault, onPoint } = props;
  const { ranking, table, state, whatIf } = answers;
  const answer = ranking.value;
  const left = useLeft(table);
  const param = { id: String(machine.id) };
  const suspect = answer?.suspects.find(({ key }) => key === opened) ?? answer?.suspects[0];
  return (
    <div className="bench-side" ref={props.ref}>
      {answer && table.state === 'ready' && answer.table.state === 'ready' ? (
        <>
          <Suspects
            answer={answer}
            typed={typed}
            preview={typed === undefined ? undefined : preview}
            letters={letters}
            opened={suspect?.key}
            onOpen={onOpen}
          />
          {suspect && (
            <Why
              machine={machine}
              answer={answer}
              suspect={suspect}
              letters={letters}
              state={state}
              axes={axes}
              onPoint={onPoint}
            />
          )}
          <Remarks answer={answer} />
        </>
      ) : ranking.problem ? (
        <p className="label">No suspects while there are no levels.</p>
      ) : (
        <TableWork
          table={table}
          left={left}
          onStart={() => void told(api.machines[':id'].table.$post({ param }))}
          onStop={() => void told(api.machines[':id'].table.$delete({ param }))}
        />
      )}
      <Suspense fallback={null}>
        <WhatIfPanel
          machine={param.id}
          state={state}
          fault={fault}
          onFault={onFault}
          answer={whatIf}
          onPoint={onPoint}
        />
      </Suspense>
    </div>
  );
}
