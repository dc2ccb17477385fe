import type { FlowPointView } from '../../server/index.ts';
import { VerdictMark } from '../marks.tsx';

/** How a point looks over all states that it was read in, as a sign and for the ear; nothing where it was not read. */
export function Look({ looks }: Pick<FlowPointView, 'looks'>) {
  if (looks === null) return <span className="flow-look" />;
  const bad = looks.bad > 0;
  return (
    <span className="flow-look">
      <VerdictMark verdict={bad ? 'departs' : 'sound'} toward="right" />
      <span className="aside">{lookWords(looks)}: </span>
    </span>
  );
}

/** `bad`, `good`, `bad in 2 of 5 states`. */
export function lookWords({ good, bad }: { readonly good: number; readonly bad: number }): string {
  if (bad === 0) return 'good';
  return good === 0 ? 'bad' : `bad in ${bad} of ${good + bad} states`;
}
