/** The wanted row enlarged: point, state, caution; the strip on the scale of the column; the value and its verdict. */

import { type ReactNode, useRef } from 'react';
import type { BenchRow, LevelView, MachineView, PointView } from '../../server/index.ts';
import { Link } from '../link.tsx';
import { CautionPlate, DotMark, RingMark } from '../marks.tsx';
import { address } from '../router.ts';
import {
  type Axis,
  type Flag,
  lensAxis,
  plusMinus,
  Scale,
  Strip,
  type StripInput,
  volts,
} from '../strip/index.ts';
import { nameParts } from './rows.ts';
import { stepsOf } from './steps.ts';
import { useWidth } from './width.ts';
import './head.css';

export interface HeadProps {
  readonly machine: MachineView;
  readonly point: PointView;
  /** The state to read in; the machine may have to be brought into it. */
  readonly state: string;
  readonly change: boolean;
  /** `Touch next`, or how else this point came here. */
  readonly label: string;
  /** That is read; what is on record of it here stands in `row`. */
  readonly unit: string;
  readonly row: BenchRow | undefined;
  readonly input: StripInput;
  readonly flags: readonly Flag[];
  readonly axis: Axis;
  readonly healthy: readonly string[];
  readonly lens: boolean;
  /** No operating point was found. */
  readonly empty: boolean;
  /** The levels are still being reckoned. */
  readonly soon: boolean;
  readonly stateChoice: ReactNode;
  /** How to bring a unit into the state, also while the machine is said to be in it. */
  readonly stepsShown: boolean;
  readonly onSteps: () => void;
  /** The caution stands in the place of the field, and not here. */
  readonly gated: boolean;
  readonly field: ReactNode;
  readonly verdict: ReactNode;
}

export function Head(props: HeadProps) {
  const { machine, point, state, change, label, gated, stateChoice, stepsShown, onSteps } = props;
  const { field, verdict } = props;
  const { board, rest } = nameParts(point.point);
  const note = noteOf(point);
  const caution = point.caution || machine.boards.find(({ name }) => name === point.board)?.caution || '';
  const steps = machine.states.find(({ name }) => name === state)?.steps ?? '';
  return (
    <section
      className={`bench-head ${gated ? 'is-gated' : ''} ${point.point.length > 8 ? 'long-name' : ''}`}
      aria-label="Wanted reading"
    >
      <div className="wanted-name">
        <p className="label">{label}</p>
        <h1 className={nameSize(point.point)}>
          {board !== '' && (
            <>
              <span className="of-board">{board}</span>
              <span className="slash">/</span>
            </>
          )}
          {rest}
        </h1>
        <p className="wanted-note">
          <Link className="steps-button" to={flowOf(props)}>
            driven by
          </Link>
          {note !== '' && `; ${note}`}
        </p>
      </div>
      <div className="wanted-state">
        <p className="label">{change ? 'Change to' : 'State of the machine'}</p>
        <p className={`state-name ${state.length > 12 ? 'long' : ''}`}>{state}</p>
        {!change && (
          <div className="state-stays">
            {stateChoice}
            {steps !== '' && (
              <button type="button" className="steps-button" aria-expanded={stepsShown} onClick={onSteps}>
                steps
              </button>
            )}
          </div>
        )}
      </div>
      {(change || stepsShown) && <StateSteps text={steps} />}
      <div className="wanted-caution">{caution !== '' && !gated && <CautionPlate text={caution} />}</div>
      <div className="wanted-field">{field}</div>
      <div className="wanted-verdict">{verdict}</div>
      <p className="aside" role="status">
        {`${label}: ${point.point}. ${change ? 'Change to' : 'State'} ${state}.`}
      </p>
      <HeadStrip {...props} />
    </section>
  );
}

/** One step a line, as they are parted by semicolons. */
function StateSteps({ text }: { readonly text: string }) {
  const steps = stepsOf(text);
  if (steps.length < 2) {
    return <p className="state-steps">{text || 'No steps are on record for this state.'}</p>;
  }
  return (
    <ol className="state-steps">
      {steps.map((step) => (
        <li key={step}>{step}</li>
      ))}
    </ol>
  );
}

function HeadStrip({ row, input, flags, axis, unit, healthy, lens, empty, soon }: HeadProps) {
  const cell = useRef<HTMLDivElement>(null);
  const width = useWidth(cell, 520);
  const sound = row?.sound ?? null;
  return (
    <>
      <div className="wanted-expect">
        <Expected sound={sound} learnt={row?.learnt === true} empty={empty} soon={soon} />
        {(input.healthy ?? []).map((value, i) => (
          <p key={healthy[i]} className="expect-twin">
            <RingMark /> <span className="label">{healthy[i]}</span> <b>{volts(value)}</b>
          </p>
        ))}
        {row?.reading && (
          <p className="expect-twin">
            <DotMark /> <span className="label">{unit}</span> <b>{volts(row.reading.value)}</b>
            {row.reading.takenAt !== '' && (
              <span className="label expect-day"> {row.reading.takenAt.slice(0, 10)}</span>
            )}
          </p>
        )}
        {row?.drawing && (
          <p className="label">
            drawing <b>{volts(row.drawing.value)}</b>
          </p>
        )}
      </div>
      <div className="wanted-strip" ref={cell}>
        <Strip
          input={{ ...input, flags }}
          axis={axis}
          width={width}
          height={112}
          size="enlarged"
          middle={72}
          uprights={[50, 112]}
          empty={empty}
        />
        <Scale axis={axis} width={width} />
        {lens && sound && <Lens input={input} sound={sound} width={width} />}
      </div>
    </>
  );
}

function Expected({
  sound,
  learnt,
  empty,
  soon,
}: {
  readonly sound: LevelView | null;
  readonly learnt: boolean;
  readonly empty: boolean;
  readonly soon: boolean;
}) {
  if (!sound) {
    const words = soon ? 'reckoning' : empty ? 'no operating point found' : 'nothing is expected here';
    return <p className="label">{words}</p>;
  }
  return (
    <>
      <p className="label">{learnt ? 'not traced; stated' : 'should read'}</p>
      <p className="expect-sound">
        <b>{volts(sound.value, sound.sigma)}</b> <span>{plusMinus(sound.sigma)}</span>
      </p>
    </>
  );
}

/** Mean and twelve spreads either way, on a scale of its own. */
function Lens({
  input,
  sound,
  width,
}: {
  readonly input: StripInput;
  readonly sound: LevelView;
  readonly width: number;
}) {
  const axis = lensAxis(sound);
  const unit = axis.high - axis.low < 1 ? 'mV' : 'V';
  return (
    <figure className="lens">
      <figcaption className="label">Lens: twelve spreads either way</figcaption>
      <Strip input={input} axis={axis} width={width} height={64} size="enlarged" />
      <Scale axis={axis} width={width} unit={unit} />
    </figure>
  );
}

function nameSize(point: string): string {
  return point.length > 15 ? 'longest' : point.length > 11 ? 'longer' : '';
}

/** Where it is told what drives the point, and the way back from it. */
function flowOf({ machine, point, unit }: HeadProps): string {
  return address(`/m/${machine.id}/flow`, { unit, point: point.point });
}

function noteOf({ note, caution, net, point, minutes }: PointView): string {
  const own = note !== '' && (caution === '' || !note.includes(caution)) ? note : '';
  const wire = net !== '' && net !== point ? `net ${net}` : '';
  const cost = minutes > 1.5 ? `${minutes} minutes` : '';
  return [own, wire, cost].filter((text) => text !== '').join('; ');
}
