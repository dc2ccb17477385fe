import { type RefObject, useLayoutEffect, useState } from 'react';
import { rem } from '../bench/width.ts';

/** Width and height of an element in pixels at size 100 %. */
export function useBoxSize(element: RefObject<HTMLElement | null>): {
  readonly width: number;
  readonly height: number;
} {
  const [size, setSize] = useState({ width: 0, height: 0 });
  useLayoutEffect(() => {
    const target = element.current;
    if (!target) return undefined;
    const measure = () => {
      const scale = 16 / rem();
      const width = Math.round(target.clientWidth * scale);
      const height = Math.round(target.clientHeight * scale);
      setSize((was) => (was.width === width && was.height === height ? was : { width, height }));
    };
    const observer = new ResizeObserver(measure);
    observer.observe(target);
    measure();
    return () => observer.disconnect();
  }, [element]);
  return size;
}
