/** The picture on its canvas, and what hands do to it: drag, wheel, two fingers, a press that puts a cursor. */

import { type RefObject, useEffect, useRef } from 'react';
import { rem } from '../bench/width.ts';
import type { Palette } from './paint.ts';
import { across, paintPicture } from './paint-picture.ts';
import { type Lane, laneHeights, pictureHeight, TOP } from './picture.ts';
import type { Span } from './span.ts';
import type { WaveView } from './wave-view.ts';

/** Pixels that a press may wander without being a drag. */
const STILL = 5;
/** Pixels of a cursor's handle. */
const HANDLE = 14;

export function LanesCanvas({
  view,
  lanes,
  looked,
  label,
}: {
  readonly view: WaveView;
  readonly lanes: readonly Lane[];
  readonly looked?: Span | undefined;
  /** What is seen, for the ear. */
  readonly label: string;
}) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const drawn = useRef({ lanes, looked });
  drawn.current = { lanes, looked };
  const draw = useRef<() => void>(() => undefined);

  useEffect(() => {
    const element = canvas.current;
    const ctx = element?.getContext('2d', { alpha: false });
    if (!element || !ctx) return undefined;
    let frame = 0;
    const now = (): void => {
      frame = 0;
      paint(element, ctx, view, drawn.current.lanes, drawn.current.looked);
    };
    draw.current = () => {
      frame ||= requestAnimationFrame(now);
    };
    const later = draw.current;
    const stops = [view.onMove(later)];
    const sizes = new ResizeObserver(now);
    sizes.observe(element);
    const themes = new MutationObserver(later);
    themes.observe(document.documentElement, { attributes: true });
    // Paper has its own colours, and no next frame in which to take them.
    const media = [matchMedia('print'), matchMedia('(prefers-color-scheme: dark)')];
    for (const one of media) one.addEventListener('change', now);
    void document.fonts.ready.then(later);
    return () => {
      cancelAnimationFrame(frame);
      for (const stop of stops) stop();
      sizes.disconnect();
      themes.disconnect();
      for (const one of media) one.removeEventListener('change', now);
    };
  }, [view]);
  useEffect(() => {
    if (lanes || looked) draw.current();
  }, [lanes, looked]);
  useHands(canvas, view);
  const height = pictureHeight(lanes);
  useEffect(() => {
    canvas.current!.style.height = `${height / 16}rem`;
  }, [height]);
  return <canvas ref={canvas} className="waves-canvas" role="img" aria-label={label} />;
}

/** Heights of the lanes' labels beside it, in rem. */
export function labelHeights(lanes: readonly Lane[]): {
  readonly top: number;
  readonly heights: readonly number[];
} {
  return { top: TOP / 16, heights: laneHeights(lanes).map((height) => height / 16) };
}

function paint(
  element: HTMLCanvasElement,
  ctx: CanvasRenderingContext2D,
  view: WaveView,
  lanes: readonly Lane[],
  looked: Span | undefined,
): void {
  const ratio = matchMedia('print').matches ? Math.max(3, devicePixelRatio) : devicePixelRatio;
  const width = Math.round(element.clientWidth * ratio);
  const height = Math.round(element.clientHeight * ratio);
  if (width === 0 || height === 0) return;
  if (element.width !== width || element.height !== height) {
    element.width = width;
    element.height = height;
  }
  const style = getComputedStyle(element);
  const colour = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  const colours: Palette = {
    ground: colour('paper'),
    sheet: colour('sheet'),
    ink: colour('ink'),
    ink2: colour('ink2'),
    rule: colour('rule'),
    grid: colour('grid'),
    spot: colour('spot'),
    act: colour('act'),
    actink: colour('actink'),
  };
  const { span, cursors, active, fitted } = view;
  const picture = { lanes, span, cursors, active, fitted, ...(looked ? { looked } : {}) };
  const scale = (ratio * rem()) / 16;
  paintPicture(ctx, picture, { width, scale, family: style.fontFamily }, colours);
}

function useHands(canvas: RefObject<HTMLCanvasElement | null>, view: WaveView): void {
  useEffect(() => {
    const element = canvas.current;
    if (!element) return undefined;
    const plot = (): { x: number; width: number } =>
      across({ width: element.clientWidth, scale: rem() / 16 });
    const instantOf = (event: MouseEvent): number => {
      const { x, width } = plot();
      const { from, to } = view.span;
      return from + ((event.clientX - element.getBoundingClientRect().left - x) / width) * (to - from);
    };
    const fingers = new Map<number, { x: number; from: number }>();
    let dragged: 'a' | 'b' | 'view' | undefined;
    let wandered = 0;

    const down = (event: PointerEvent): void => {
      if (event.button !== 0) return;
      element.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, { x: event.clientX, from: event.clientX });
      wandered = 0;
      const { from, to } = view.span;
      const reach = (HANDLE / plot().width) * (to - from);
      const at = instantOf(event);
      const [nearest] = (['a', 'b'] as const)
        .filter((name) => Math.abs((view.cursors[name] ?? Number.POSITIVE_INFINITY) - at) < reach)
        .sort((p, q) => Math.abs(view.cursors[p]! - at) - Math.abs(view.cursors[q]! - at));
      dragged = nearest ?? 'view';
    };
    const move = (event: PointerEvent): void => {
      const finger = fingers.get(event.pointerId);
      if (!finger) return;
      const by = event.clientX - finger.x;
      const { width } = plot();
      if (fingers.size === 2) {
        const [other] = [...fingers].filter(([id]) => id !== event.pointerId).map(([, one]) => one);
        const [before, after] = [Math.abs(finger.x - other!.x), Math.abs(event.clientX - other!.x)];
        const middle =
          instantOf(event) + ((other!.x - event.clientX) / 2 / width) * (view.span.to - view.span.from);
        if (before > 8 && after > 8) view.zoom(before / after, middle);
        view.pan(-by / 2 / width);
        wandered = Number.POSITIVE_INFINITY;
      } else {
        wandered += Math.abs(by);
        if (wandered > STILL) {
          if (dragged === 'a' || dragged === 'b') view.put(dragged, instantOf(event));
          else view.pan(-by / width);
        }
      }
      finger.x = event.clientX;
    };
    const up = (event: PointerEvent): void => {
      if (!fingers.delete(event.pointerId) || event.type === 'pointercancel') return;
      if (wandered <= STILL && fingers.size === 0) {
        if (dragged === 'a' || dragged === 'b') view.put(dragged, view.cursors[dragged]!);
        else
          view.put(event.shiftKey ? 'b' : view.cursors.a === undefined ? 'a' : view.active, instantOf(event));
      }
    };
    const wheel = (event: WheelEvent): void => {
      event.preventDefault();
      const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 20 : 1;
      const across = event.shiftKey ? event.deltaY : event.deltaX;
      if (Math.abs(across) > (event.shiftKey ? 0 : Math.abs(event.deltaY)))
        view.pan((across * unit) / plot().width);
      else view.zoom(1.0015 ** (event.deltaY * unit), instantOf(event));
    };
    element.addEventListener('pointerdown', down);
    element.addEventListener('pointermove', move);
    element.addEventListener('pointerup', up);
    element.addEventListener('pointercancel', up);
    element.addEventListener('wheel', wheel, { passive: false });
    return () => {
      element.removeEventListener('pointerdown', down);
      element.removeEventListener('pointermove', move);
      element.removeEventListener('pointerup', up);
      element.removeEventListener('pointercancel', up);
      element.removeEventListener('wheel', wheel);
    };
  }, [canvas, view]);
}
