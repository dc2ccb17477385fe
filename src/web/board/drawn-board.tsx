/** The board as `drawing.ts` lays it out: plain outlines, their references, contacts with their numbers. */

import { memo } from 'react';
import type { Drawing, DrawnItem } from './drawing.ts';

export const DrawnBoard = memo(function DrawnBoard({
  drawing,
  mirrored,
}: {
  readonly drawing: Drawing;
  readonly mirrored: boolean;
}) {
  const { width, height, items } = drawing;
  return (
    <g className="drawn">
      <rect className="drawn-board" x="1" y="1" width={width - 2} height={height - 2} />
      {items.map((item) => (
        <Item key={item.part.ref} item={item} mirrored={mirrored} />
      ))}
    </g>
  );
});

function Item({ item, mirrored }: { readonly item: DrawnItem; readonly mirrored: boolean }) {
  const { part, x, y, pins } = item;
  if (part.kind === 'connector') {
    return (
      <>
        {pins.map((pin) => (
          <g key={pin.pin}>
            <path className="drawn-contact" d={`M${pin.x - 8} ${pin.y - 14}h16v28h-16z`} />
            <Text x={pin.x} y={pin.y - 18} mirrored={mirrored} small>
              {pin.pin}
            </Text>
          </g>
        ))}
      </>
    );
  }
  return (
    <>
      <path className="drawn-lead" d={pins.map((pin) => `M${pin.x} ${pin.y}L${x} ${y}`).join('')} />
      <path className="drawn-body" d={bodyPath(item)} />
      {part.kind === 'diode' || part.kind === 'zener' ? (
        <path className="drawn-bar" d={`M${x + (cathodeLeft(item) ? -22 : 22)} ${y - 10}v20`} />
      ) : null}
      <Text x={x - textShift(item)} y={y + (part.kind === 'transistor' ? -1 : 5)} mirrored={mirrored}>
        {part.ref}
      </Text>
    </>
  );
}

/** Beside the bar of a diode. */
function textShift(item: DrawnItem): number {
  const { kind } = item.part;
  return kind !== 'diode' && kind !== 'zener' ? 0 : cathodeLeft(item) ? -4 : 4;
}

function cathodeLeft({ part: { pins } }: DrawnItem): boolean {
  return pins[0]?.pin === 'k';
}

function bodyPath({ part: { kind }, x, y, width, height }: DrawnItem): string {
  const round = (r: number, cy = y) =>
    `M${x - r} ${cy}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0z`;
  if (kind === 'transistor') return round(24, y - 6);
  if (kind === 'lamp') return round(18);
  if (kind === 'trimmer') return `M${x - 24} ${y - 20}h48v40h-48z`;
  if (kind === 'capacitor') return `M${x - 20} ${y - 18}h40v36h-40z`;
  if (kind === 'diode' || kind === 'zener') return `M${x - 28} ${y - 10}h56v20h-56z`;
  if (width > 90 || height > 60) return `M${x - width / 2 + 6} ${y - 24}h${width - 12}v44h${12 - width}z`;
  return `M${x - 26} ${y - 11}h52v22h-52z`;
}

/** Text that can be read on a mirrored drawing, too. */
function Text({
  x,
  y,
  mirrored,
  small = false,
  children,
}: {
  readonly x: number;
  readonly y: number;
  readonly mirrored: boolean;
  readonly small?: boolean;
  readonly children: string;
}) {
  const turn = mirrored ? { transform: `matrix(-1 0 0 1 ${2 * x} 0)` } : {};
  return (
    <text className={small ? 'drawn-text small' : 'drawn-text'} x={x} y={y} textAnchor="middle" {...turn}>
      {children}
    </text>
  );
}
