/**
 * A fault as a change of element values. It never adds an element between nets that share none, so the matrix pattern
 * and its symbolic factorisation serve every fault.
 */

export interface Edit {
  /** Conductances that take another value, siemens. */
  readonly conductance?: readonly { readonly element: number; readonly siemens: number }[];
  /** Conductances added between two nets of one part, siemens. */
  readonly bridge?: readonly { readonly a: number; readonly b: number; readonly siemens: number }[];
  /** Junctions that carry no current any more. */
  readonly cut?: readonly number[];
  /** Transistors with an open terminal (BASE, COLLECTOR, EMITTER), and the meter that touches it, siemens. */
  readonly open?: readonly {
    readonly transistor: number;
    readonly terminal: number;
    readonly siemens: number;
  }[];
  /** Transistors whose forward gain is multiplied. */
  readonly gain?: readonly { readonly transistor: number; readonly factor: number }[];
}

/** Both edits at once; where both change one element, the later counts. */
export function joinedEdits(a: Edit, b: Edit): Edit {
  return {
    conductance: [...(a.conductance ?? []), ...(b.conductance ?? [])],
    bridge: [...(a.bridge ?? []), ...(b.bridge ?? [])],
    cut: [...(a.cut ?? []), ...(b.cut ?? [])],
    open: [...(a.open ?? []), ...(b.open ?? [])],
    gain: [...(a.gain ?? []), ...(b.gain ?? [])],
  };
}
