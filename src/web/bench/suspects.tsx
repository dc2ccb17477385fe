/** Who may be to blame, now and with the value in the field; and what is in the way of saying so. */

import { useLayoutEffect, useRef, useState } from 'react';
import type { SuspectsView, TableView } from '../../server/index.ts';
import { percent, volts } from '../strip/index.ts';
import { FEW, type Line, MANY, suspectLines } from './lines.ts';
import { LyingStaves, type StaveShare, Staves } from './staves.tsx';
import { rem, useWidth } from './width.ts';
import './suspects.css';

export interface SuspectsProps {
  readonly answer: SuspectsView;
  /** The value in the field, volts. */
  readonly typed: number | undefined;
  /** With that value, or the one before while it is still being reckoned. */
  readonly preview: SuspectsView | undefined;
  readonly letters: ReadonlyMap<string, string>;
  /** The suspect that is opened. */
  readonly opened: string | undefined;
  readonly onOpen: (key: string) => void;
}

export function Suspects({ answer, typed, preview, letters, opened, onOpen }: SuspectsProps) {
  const [most, setMost] = useState(FEW);
  const [all, setAll] = useState(false);
  const list = useRef<HTMLOListElement>(null);
  const box = useRef<HTMLDivElement>(null);
  const across = useWidth(box, 770);
  const lines = suspectLines(answer, preview, most);
  const { places, height } = useLinePlaces(list);
  const shares: StaveShare[] = lines.map(({ key, kind, now, after }, i) => ({
    key,
    kind,
    now,
    after,
    line: places[i],
  }));
  const value = preview?.preview?.value;
  return (
    <section className={`suspects ${all ? 'all' : ''}`} aria-label="Suspects">
      <div className="suspects-head">
        <h2>Suspects</h2>
        <p className="label">
          now, %{value !== undefined && <b>with {volts(value)} V</b>}
          {typed !== undefined && typed !== value && ' reckoning'}
        </p>
      </div>
      <div className="suspects-body" ref={box}>
        <Staves shares={shares} height={height} />
        <LyingStaves shares={shares} letters={letters} width={across} />
        <ol ref={list}>
          {lines.map((line, i) => (
            <SuspectLine
              key={line.key}
              line={line}
              leads={i === 0}
              letter={letters.get(line.key)}
              opened={line.key === opened}
              onPress={
                line.suspect
                  ? () => onOpen(line.key)
                  : line.key === 'others' && answer.suspects.length > FEW
                    ? () => setMost(most === FEW ? MANY : FEW)
                    : undefined
              }
            />
          ))}
        </ol>
        <button type="button" className="button plain all-button" onClick={() => setAll(!all)}>
          {all ? 'The first three only' : 'All suspects'}
        </button>
      </div>
    </section>
  );
}

function SuspectLine({
  line: { kind, now, after, suspect, text },
  leads,
  letter,
  opened,
  onPress,
}: {
  readonly line: Line;
  readonly leads: boolean;
  readonly letter: string | undefined;
  readonly opened: boolean;
  readonly onPress: (() => void) | undefined;
}) {
  const name = (
    <>
      {letter && kind === 'suspect' && (
        <span className="letter">
          {letter}
          <span className="aside">:</span>{' '}
        </span>
      )}
      <span className={suspect ? 'suspect-part' : 'suspect-rest'}>{text}</span>
    </>
  );
  return (
    <li className={`suspect ${leads ? 'leads' : ''} ${suspect ? '' : 'rest'}`}>
      {onPress ? (
        <button
          type="button"
          className="suspect-name"
          aria-pressed={suspect ? opened : undefined}
          onClick={onPress}
        >
          {name}
        </button>
      ) : (
        <span className="suspect-name">{name}</span>
      )}
      <span className={after === undefined ? 'share-only' : 'share-now'}>
        {percent(now)}
        <span className="aside"> percent{after === undefined ? '' : ' now'}</span>
      </span>
      {after !== undefined && (
        <span className="share-then">
          {percent(after)}
          <span className="aside"> percent with this reading</span>
        </span>
      )}
      {suspect && <span className="suspect-mode">{unbroken(suspect.words)}</span>}
    </li>
  );
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1).replace(/\.$/, '')}.`;
}

/** A value stays with its unit and with its `about`. */
function unbroken(words: string): string {
  return words.replaceAll(/about (\S+) (\S+)/g, 'about\u00a0$1\u00a0$2');
}

/** Where the lines of the list stand, so that the leaders meet them; looked at after every change. */
function useLinePlaces(list: React.RefObject<HTMLOListElement | null>) {
  const [found, setFound] = useState<{ places: readonly number[]; height: number }>({
    places: [],
    height: 230,
  });
  useLayoutEffect(() => {
    const element = list.current;
    if (!element) return;
    const scale = 16 / rem();
    const places = [...element.querySelectorAll<HTMLElement>('.suspect-name')].map(
      (line) => (line.offsetTop + line.offsetHeight / 2) * scale,
    );
    const height = Math.max(120, element.offsetHeight * scale);
    const same = height === found.height && places.join() === found.places.join();
    if (!same) setFound({ places, height });
  });
  return found;
}

/** What stands in the place of the suspects while the fault table is not there. */
export function TableWork({
  table,
  left,
  onStart,
  onStop,
}: {
  readonly table: TableView;
  /** Seconds, where they are known. */
  readonly left: number | undefined;
  readonly onStart: () => void;
  readonly onStop: () => void;
}) {
  const { state, done, total, message } = table;
  if (state === 'working') {
    return (
      <section className="table-work" aria-label="Working out the faults">
        <p className="label">Working out the faults, each in every state</p>
        <h2 className="work-count">
          {total > 0 ? `${grouped(done)} of ${grouped(total)} solved` : 'Setting out'}
        </h2>
        <p className="prose">
          {left !== undefined && `${leftWords(left)} `}You can go on reading: every value is kept, and the
          suspects come as soon as this is done. It is done once for a circuit.
        </p>
        <Cells share={total > 0 ? done / total : 0} />
        <button type="button" className="button" onClick={onStop}>
          Stop
        </button>
      </section>
    );
  }
  if (state === 'ready' || (state === 'none' && message === '')) {
    return (
      <section className="table-work" aria-label="Suspects">
        <p className="label">Asking for the suspects</p>
        {state === 'none' && (
          <button type="button" className="button" onClick={onStart}>
            Work out the faults
          </button>
        )}
      </section>
    );
  }
  return (
    <section className="table-work" aria-label="Faults not worked out">
      <h2>{state === 'failed' ? 'The faults could not be worked out' : 'The faults are not worked out'}</h2>
      <p className="prose">
        {message !== '' && sentence(message)} Comparing goes on without them; suspects and the next reading
        need them.
      </p>
      <button type="button" className="button" onClick={onStart}>
        Work them out
      </button>
    </section>
  );
}

const CELLS = 48;

function Cells({ share }: { readonly share: number }) {
  const full = Math.floor(share * CELLS + 1e-9);
  return (
    <svg
      className="cells"
      viewBox={`0 0 ${CELLS * 7.2} 24`}
      role="progressbar"
      aria-label="Faults worked out"
      aria-valuemin={0}
      aria-valuemax={100}
      aria-valuenow={Math.round(share * 100)}
    >
      {Array.from({ length: CELLS }, (_, i) => (
        <rect
          // biome-ignore lint/suspicious/noArrayIndexKey: a cell is its place
          key={i}
          className={i < full ? 'full' : ''}
          x={i * 7.2 + 0.75}
          y={0.75}
          width={5.2}
          height={22.5}
        />
      ))}
    </svg>
  );
}

/** Thousands apart by a thin space. */
function grouped(count: number): string {
  return String(count).replaceAll(/\B(?=(\d{3})+$)/g, '\u2009');
}

function leftWords(seconds: number): string {
  if (seconds < 8) return 'A few seconds more.';
  if (seconds < 90) return `About ${Math.round(seconds / 5) * 5} seconds more.`;
  return `About ${Math.round(seconds / 60)} minutes more.`;
}
