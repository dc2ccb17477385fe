/** The ranking as lines that add up to one whole, now and with the value in the field. */

import type { SuspectsView, SuspectView } from '../../server/index.ts';
import { suspectName } from './reasons.ts';

export interface Line {
  readonly key: string;
  /** A suspect, several together, or none of them. */
  readonly kind: 'suspect' | 'others' | 'none';
  readonly now: number;
  readonly after: number | undefined;
  readonly suspect?: SuspectView;
  readonly text: string;
}

/** So many suspects at first, and after a press on `others`. */
export const FEW = 4;
export const MANY = 12;
/** Below this share, nothing being wrong is not worth a line. */
const WORTH = 0.005;
/** Of a suspect that the preview lists among its others: small, and not known better. */
const HARDLY = 1e-6;

/** In the order of the answer on record, whatever the preview would make of it: lines do not move while one types. */
export function suspectLines(answer: SuspectsView, preview: SuspectsView | undefined, most: number): Line[] {
  const listed = answer.suspects.slice(0, most);
  const later = new Map(preview?.suspects.map(({ key, probability }) => [key, probability]));
  const lines: Line[] = listed.map((suspect) => ({
    key: suspect.key,
    kind: 'suspect',
    now: suspect.probability,
    after: preview && (later.get(suspect.key) ?? HARDLY),
    suspect,
    text: suspectName(suspect),
  }));
  const now = lines.reduce((sum, line) => sum + line.now, 0);
  const after = lines.reduce((sum, line) => sum + (line.after ?? 0), 0);
  const count = answer.suspects.length - listed.length + answer.others.count;
  const othersAfter = preview && rest(preview, after);
  if (count > 0 || (othersAfter ?? 0) > WORTH) {
    const [first] = preview?.suspects ?? [];
    // Whoever would lead with this reading is named, though the line stands with the others.
    const lead = first && !listed.some(({ key }) => key === first.key) ? `, first ${suspectName(first)}` : '';
    const text = (count === 1 ? 'one other' : `${count} others`) + lead;
    lines.push({ key: 'others', kind: 'others', now: rest(answer, now), after: othersAfter, text });
  }
  const sound = preview?.sound;
  if (Math.max(answer.sound, sound ?? 0) >= WORTH) {
    lines.push({ key: 'sound', kind: 'others', now: answer.sound, after: sound, text: 'nothing is wrong' });
  }
  const unexplained = preview?.unexplained;
  const none: Line = {
    key: 'none',
    kind: 'none',
    now: answer.unexplained,
    after: unexplained,
    text: 'none of these',
  };
  // What no fault explains leads the ranking where it is the likeliest.
  return none.now > (lines[0]?.now ?? 0) ? [none, ...lines] : [...lines, none];
}

function rest({ unexplained, sound }: SuspectsView, shown: number): number {
  return Math.max(0, 1 - unexplained - sound - shown);
}
