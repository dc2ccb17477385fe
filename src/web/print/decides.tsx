import type { MachineView, NextView, SuspectsView } from '../../server/index.ts';
import { api, useLive } from '../live.ts';
import { volts } from '../strip/index.ts';
import { type Outcome, outcomesOf } from './outcomes.ts';

/** From here on a suspect is confirmed by a second kind of evidence, not by another reading. */
const CONFIDENT = 0.9;
/** More ranges than this are no plan. */
const MOST = 4;
/** Suspects named for a range; the rest is a number. */
const NAMED = 2;

interface Line {
  readonly line: number;
  readonly point: { readonly point: string };
}

/** What the first reading decides: a range, what it speaks for, and where to go from there. */
export function Decides({
  machine,
  suspects,
  next,
  line,
  lines,
}: {
  readonly machine: MachineView;
  readonly suspects: SuspectsView;
  readonly next: NextView;
  readonly line: number;
  readonly lines: readonly Line[];
}) {
  return (
    <div>
      <h3>
        What line {line}, {next.point}, decides
      </h3>
      <dl className="decides">
        {outcomesOf(next, suspects)
          .slice(0, MOST)
          .map((outcome) => (
            <OutcomeLine
              key={outcome.keys.join()}
              machine={machine}
              suspects={suspects}
              next={next}
              outcome={outcome}
              lines={lines}
            />
          ))}
        <div>
          <dt>anything else</dt>
          <dd>Write it down; not foreseen.</dd>
        </div>
      </dl>
    </div>
  );
}

function OutcomeLine({
  machine,
  suspects,
  next: { state, point },
  outcome,
  lines,
}: {
  readonly machine: MachineView;
  readonly suspects: SuspectsView;
  readonly next: NextView;
  readonly outcome: Outcome;
  readonly lines: readonly Line[];
}) {
  const { unit } = suspects;
  const then = useLive(api.machines[':id'].suspects, {
    param: { id: String(machine.id) },
    query: { unit, state, point, value: outcome.value.toFixed(3) },
  }).value;
  const named = outcome.keys
    .slice(0, NAMED)
    .map((key) => suspects.suspects.find((one) => one.key === key)!)
    .map(({ parts, words }) => `${parts.join(' and ')}, ${words.replace(/, about .*$/, '')}`);
  const rest = outcome.keys.length - named.length;
  return (
    <div>
      <dt>
        {volts(outcome.low)} to {volts(outcome.high)}
      </dt>
      <dd>
        {named.join('; ')}
        {rest > 0 && `; ${rest} more`}. {then && whereTo(then, state, lines)}
      </dd>
    </div>
  );
}

/** Confirm it, or the line to read next, or the point elsewhere. */
function whereTo({ suspects, next }: SuspectsView, state: string, lines: readonly Line[]): string {
  const [leader] = suspects;
  const sure = leader && leader.probability >= CONFIDENT;
  const [to] = next;
  if (sure || to === undefined) {
    const confirm = leader?.confirm[0];
    return confirm ? `${confirm.charAt(0).toUpperCase()}${confirm.slice(1)}.` : '';
  }
  if (to.state !== state) return `Then ${to.point} in the state ${to.state}.`;
  const line = lines.find((one) => one.point.point === to.point)?.line;
  return line === undefined
    ? `Then ${to.point}, which is not on this sheet.`
    : `Go to line ${line}, ${to.point}.`;
}
