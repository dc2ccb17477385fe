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
  /**
   * What stores charge or flux, multiplied; DC does not see it. `part`: a capacitor, inductor or core, by the number of its
   * conductance; `transistor`, `junction`: the carriers in store.
   */
  readonly stored?: readonly {
    readonly kind: 'part' | 'transistor' | 'junction';
    readonly element: number;
    readonly factor: number;
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
    ...(a.stored || b.stored ? { stored: [...(a.stored ?? []), ...(b.stored ?? [])] } : {}),
  };
}
