import { Frame } from '../frame.tsx';
import { Link } from '../link.tsx';
import type { PageProps } from '../routes.tsx';
import { WithMachine } from '../with-machine.tsx';
import { Board } from './board.tsx';
import './board.css';

/** A board: its photograph or its drawing, and where its points are. */
export default function BoardPage({ at, query }: PageProps) {
  const id = at.machine!;
  return (
    <WithMachine id={id} title="Board">
      {(machine) => {
        const board = machine.boards.find(({ name }) => name === at.board) ?? machine.boards[0];
        if (board === undefined) {
          return (
            <Frame title="Board" machine={{ id, name: machine.name }}>
              <div className="page-body">
                <h1>No board is on record</h1>
                <p className="prose">A board comes with its first part, or with its connector.</p>
                <p>
                  <Link to={`/m/${encodeURIComponent(id)}/sheets/parts`}>Write down a part</Link>
                </p>
              </div>
            </Frame>
          );
        }
        return <Board key={board.name} machine={machine} board={board} query={query} />;
      }}
    </WithMachine>
  );
}
