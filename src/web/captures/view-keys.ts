import type { KeyMap } from '../keys.ts';
import type { WaveView } from './wave-view.ts';

/** Shares of what is seen that a key moves by. */
const STEP = 0.1;
const SCREEN = 0.9;
const NUDGE = 0.005;
const CLOSER = 0.7;

/** Keys that move what is looked at, and the cursors. */
export function viewKeys(view: WaveView): KeyMap {
  const along = (sign: 1 | -1) => (event: KeyboardEvent) =>
    event.shiftKey ? view.nudge(sign * NUDGE) : view.pan(sign * STEP);
  const screen = (sign: 1 | -1) => () => view.pan(sign * SCREEN);
  const closer = () => view.zoom(CLOSER);
  const wider = () => view.zoom(1 / CLOSER);
  const start = () => view.start();
  const end = () => view.end();
  const clear = () => view.clear();
  return {
    ArrowLeft: along(-1),
    ArrowRight: along(1),
    PageUp: screen(-1),
    PageDown: screen(1),
    Home: start,
    End: end,
    Escape: clear,
    '+': closer,
    '=': closer,
    '-': wider,
    _: wider,
    '0': () => view.all(),
    a: () => view.take('a'),
    b: () => view.take('b'),
    z: () => view.toCursors(),
    v: () => view.fit(),
  };
}
