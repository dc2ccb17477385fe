import { useState } from 'react';
import { api, told, useLive } from './live.ts';

/** Takes back the last change of this machine, and says which one that is. */
export function UndoButton({ machine }: { readonly machine: string }) {
  const { value: changes } = useLive(api.machines[':id'].changes, {
    param: { id: machine },
    query: { limit: 20 },
  });
  const [said, setSaid] = useState('');
  const last = changes?.find(({ undoneBy }) => undoneBy === null);
  const undo = async () => {
    const outcome = await told(api.machines[':id'].undo.$post({ param: { id: machine } }));
    if (!outcome.ok) setSaid(`Not taken back: ${outcome.problem.message}`);
    else setSaid(outcome.value ? `Taken back: ${outcome.value.what}` : 'There is nothing to take back');
  };
  return (
    <>
      <button type="button" className="button undo" disabled={!last} onClick={undo}>
        Undo
        {last && <span className="aside">: {last.what}</span>}
      </button>
      <span role="status" className="aside">
        {said}
      </span>
    </>
  );
}
