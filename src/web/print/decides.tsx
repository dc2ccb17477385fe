import type { MachineView, NextView, SuspectsView } from '../../server/index.ts';
import { api, useLive } from '../live.ts';
import { volts } from '../strip/index.ts';
import { type Line, type Outcome, outcomesOf, whereTo } from './outcomes.ts';

/** More ranges than this are no plan. */
const MOST = 4;
/** Suspects named for a range; the rest is a number. */
const NAMED = 2;

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
