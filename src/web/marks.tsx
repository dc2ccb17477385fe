/** Signs that are drawn, never typed, so that they look the same everywhere and no font need have them. */

import type { ReactNode } from 'react';

interface MarkProps {
  /** Side in the units of the text around it, em. */
  readonly size?: number;
}

function Sign({ size, children }: { readonly size: number; readonly children: ReactNode }) {
  return (
    <svg width={`${size}em`} height={`${size}em`} viewBox="0 0 20 20" className="sign" aria-hidden="true">
      {children}
    </svg>
  );
}

/** The healthy unit. */
export function RingMark({ size = 0.95 }: MarkProps) {
  return (
    <Sign size={size}>
      <circle cx="10" cy="10" r="7.6" fill="none" stroke="var(--ink)" strokeWidth="2.8" />
    </Sign>
  );
}

/** The faulty unit. */
export function DotMark({ size = 0.95, large = true }: MarkProps & { readonly large?: boolean }) {
  return (
    <Sign size={size}>
      <circle cx="10" cy="10" r={large ? 7 : 4.4} fill="var(--ink)" />
    </Sign>
  );
}

/** A departure, pointing the way the point went. */
function ArrowMark({ size = 1, toward }: MarkProps & { readonly toward: 'left' | 'right' }) {
  return (
    <Sign size={size}>
      <path d={toward === 'right' ? 'M4 1v18L19 10z' : 'M16 1v18L1 10z'} fill="var(--spot)" />
    </Sign>
  );
}

/** A verdict in one sign: small dot, larger dot, arrow. */
export function VerdictMark({
  verdict,
  toward,
  size,
}: MarkProps & {
  readonly verdict: 'sound' | 'doubtful' | 'departs';
  readonly toward: 'left' | 'right';
}) {
  if (verdict === 'departs') return <ArrowMark toward={toward} {...(size ? { size } : {})} />;
  return <DotMark large={verdict === 'doubtful'} {...(size ? { size } : {})} />;
}

/** Points down at what something would show. */
export function PointerMark({ size = 0.6 }: MarkProps) {
  return (
    <Sign size={size}>
      <path d="M1 3h18l-9 15z" fill="var(--ink)" />
    </Sign>
  );
}

/** The sign of a caution. */
function CautionSign() {
  return (
    <svg width="2.75rem" height="2.75rem" viewBox="0 0 44 44" aria-hidden="true">
      <path
        d="M22 6 40 37H4z"
        fill="none"
        stroke="var(--plateink)"
        strokeWidth="3.4"
        strokeLinejoin="round"
      />
      <path d="M22 16v11" stroke="var(--plateink)" strokeWidth="3.6" strokeLinecap="round" />
      <circle cx="22" cy="32" r="2.2" fill="var(--plateink)" />
    </svg>
  );
}

/** A caution on its plate. The word is for the ear; the sign says it to the eye. */
export function CautionPlate({ text }: { readonly text: string }) {
  return (
    <div className={`caution ${text.length > 90 ? 'long' : ''}`} role="note">
      <CautionSign />
      <p>
        <span className="aside">Caution: </span>
        {text.charAt(0).toUpperCase() + text.slice(1)}
      </p>
    </div>
  );
}
