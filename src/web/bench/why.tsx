/** One suspect opened: what speaks for it and against it, as strips, and what to see before the iron comes out. */

import type { MachineView, ReasonView, SuspectsView, SuspectView } from '../../server/index.ts';
import { PointerMark } from '../marks.tsx';
import { type Axis, Strip, spreads, verdictOf } from '../strip/index.ts';
import { offsOf, suspectName, weighed, whySentences } from './reasons.ts';
import { shortName } from './rows.ts';

export interface WhyProps {
  readonly machine: MachineView;
  readonly answer: SuspectsView;
  readonly suspect: SuspectView;
  readonly letters: ReadonlyMap<string, string>;
  readonly state: string;
  readonly axes: readonly Axis[];
  readonly onPoint: (state: string, point: string) => void;
}

const STRIPS = 6;
const STRIP_WIDTH = 170;

export function Why({ machine, answer, suspect, letters, state, axes, onPoint }: WhyProps) {
  const letter = letters.get(suspect.key) ?? '';
  const points = new Map(machine.points.map((point, i) => [point.point, { ...point, place: i }]));
  const { for: pro, against } = weighed(suspect.reasons);
  const shown = [...pro.slice(0, STRIPS - Math.min(1, against.length)), ...against.slice(0, 1)].sort(
    (a, b) => (points.get(a.point)?.place ?? 0) - (points.get(b.point)?.place ?? 0),
  );
  const named = (key: string) => {
    const other = answer.suspects.find((one) => one.key === key);
    const known = letters.get(key);
    return known
      ? `${known}, ${other ? suspectName(other) : key}`
      : other
        ? `${suspectName(other)} (${other.words})`
        : key;
  };
  return (
    <section className="why" aria-label={`Why ${suspectName(suspect)}`}>
      <h2>
        Why <span className="letter">{letter}</span>: {suspectName(suspect)}, {suspect.words}
      </h2>
      <p className="prose">{whySentences(suspect, state).join(' ')}</p>
      {shown.length > 0 && (
        <table className="why-table">
          <thead className="label">
            <tr>
              <th scope="col">
                <span className="aside">point</span>
              </th>
              <th scope="col" className="why-strip">
                <PointerMark /> if {letter || 'so'}
              </th>
              <th scope="col">
                off,
                <br />
                sound
              </th>
              <th scope="col">
                off,
                <br />
                if <i>{letter || 'so'}</i>
              </th>
            </tr>
          </thead>
          <tbody>
            {shown.map((reason) => (
              <ReasonRow
                key={`${reason.state} ${reason.point}`}
                reason={reason}
                name={shortName(points.get(reason.point) ?? { point: reason.point, board: '' })}
                elsewhere={reason.state !== state}
                axis={axes[points.get(reason.point)?.family ?? 0]!}
                onPress={() => onPoint(reason.state, reason.point)}
              />
            ))}
          </tbody>
        </table>
      )}
      {suspect.indistinct.length > 0 && (
        <p className="prose">
          No reading at a listed point can tell it from {suspect.indistinct.slice(0, 4).map(named).join('; ')}
          {suspect.indistinct.length > 4 && ` and ${suspect.indistinct.length - 4} more`}.
        </p>
      )}
      {suspect.confirm.length > 0 && (
        <p className="prose">
          <b>Before unsoldering:</b> {suspect.confirm.join('; ')}.
        </p>
      )}
    </section>
  );
}

function ReasonRow({
  reason,
  name,
  elsewhere,
  axis,
  onPress,
}: {
  readonly reason: ReasonView;
  readonly name: string;
  readonly elsewhere: boolean;
  readonly axis: Axis;
  readonly onPress: () => void;
}) {
  const offs = offsOf(reason);
  return (
    <tr>
      <th scope="row">
        <button type="button" className="why-point" onClick={onPress}>
          {name}
          {elsewhere && <span className="label"> {reason.state}</span>}
        </button>
      </th>
      <td className="why-strip">
        {reason.wave ? (
          `${reason.wave.quantity} ${reason.wave.value}; sound ${reason.wave.sound}, this fault ${reason.wave.fault}`
        ) : (
          <Strip
            input={{
              sound: { value: reason.sound, sigma: reason.soundSigma },
              reading: reason.value,
              pointer: reason.fault,
            }}
            axis={axis}
            width={STRIP_WIDTH}
            height={28}
            middle={16}
          />
        )}
      </td>
      <td className={verdictOf(offs.sound) === 'sound' ? '' : 'departs'}>{spreads(offs.sound)}</td>
      <td className={verdictOf(offs.fault) === 'sound' ? '' : 'departs'}>{spreads(offs.fault)}</td>
    </tr>
  );
}

/** What the reckoning has to say beside the ranking. */
export function Remarks({ answer }: { readonly answer: SuspectsView }) {
  const { setAside, drawing, notes, group, suspects } = answer;
  const [first] = suspects;
  const lines = [
    ...(first && answer.unexplained > first.probability
      ? ['None of these fits well. Read a point further off, or look for a fault that is not in the list.']
      : []),
    ...(group.length > 1
      ? [`No further reading can part the first ${group.length} suspects: confirm on the parts.`]
      : []),
    ...setAside.map(({ point, state, reason }) => `${point} in ${state} is set aside: ${reason}.`),
    ...drawing.map(({ text }) => text),
    ...notes,
  ];
  if (lines.length === 0) return null;
  return (
    <section className="remarks" aria-label="Remarks">
      <h3 className="label">To be known</h3>
      <ul>
        {lines.map((line) => (
          <li key={line} className="prose">
            {line}
          </li>
        ))}
      </ul>
    </section>
  );
}
