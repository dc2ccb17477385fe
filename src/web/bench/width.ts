import { type RefObject, useLayoutEffect, useState } from 'react';

/** Width of an element in pixels at size 100 %, so that what is drawn scales with the setting. */
export function useWidth(element: RefObject<HTMLElement | null>, usual: number): number {
  const [width, setWidth] = useState(usual);
  useLayoutEffect(() => {
    const target = element.current;
    if (!target) return undefined;
    const measure = () => {
      const across = target.clientWidth / rem();
      if (across > 0) setWidth(Math.round(across * 16));
    };
    const observer = new ResizeObserver(measure);
    observer.observe(target);
    measure();
    return () => observer.disconnect();
  }, [element]);
  return width;
}

/** Pixels of one rem. */
export function rem(): number {
  return Number.parseFloat(getComputedStyle(document.documentElement).fontSize) || 16;
}
