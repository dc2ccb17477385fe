/** Voltages of some nets as they are integrated, in arrays that grow; thinned on the way where that is wanted. */
export class Recorder {
  private readonly nets: Int32Array;
  private readonly thin: number;
  /** Instant and volts of one sample after the other. */
  private data: Float64Array;
  private count = 0;
  private readonly last: Float64Array;
  private readonly lowest: Float64Array;
  private readonly highest: Float64Array;
  private pending = false;

  /** @param thin a sample is left out where the straight line between its neighbours that stay is as near, volts; 0 keeps all */
  constructor(nets: Int32Array, thin: number) {
    this.nets = nets;
    this.thin = thin;
    this.data = new Float64Array(256 * (nets.length + 1));
    this.last = new Float64Array(nets.length + 1);
    this.lowest = new Float64Array(nets.length);
    this.highest = new Float64Array(nets.length);
  }

  add(t: number, volts: Float64Array): void {
    const { nets, thin, last, lowest, highest } = this;
    const stride = nets.length + 1;
    if (this.count > 0 && this.pending && thin > 0) {
      // Lines from the last sample kept, on which all since then lie as near as wanted.
      const kept = (this.count - 1) * stride;
      const since = t - this.data[kept]!;
      for (let p = 0; p < nets.length; p++) {
        const slope = (volts[nets[p]!]! - this.data[kept + 1 + p]!) / since;
        if (slope >= lowest[p]! && slope <= highest[p]!) continue;
        this.keepLast();
        break;
      }
    } else if (this.pending) this.keepLast();
    last[0] = t;
    for (let p = 0; p < nets.length; p++) last[p + 1] = volts[nets[p]!]!;
    this.pending = true;
    if (this.count === 0) {
      this.keepLast();
      return;
    }
    if (thin <= 0) return;
    const kept = (this.count - 1) * stride;
    const since = t - this.data[kept]!;
    for (let p = 0; p < nets.length; p++) {
      const rise = last[p + 1]! - this.data[kept + 1 + p]!;
      lowest[p] = Math.max(lowest[p]!, (rise - thin) / since);
      highest[p] = Math.min(highest[p]!, (rise + thin) / since);
    }
  }

  private keepLast(): void {
    const stride = this.nets.length + 1;
    if ((this.count + 1) * stride > this.data.length) {
      const larger = new Float64Array(2 * this.data.length);
      larger.set(this.data);
      this.data = larger;
    }
    this.data.set(this.last, this.count * stride);
    this.count++;
    this.pending = false;
    this.lowest.fill(-Infinity);
    this.highest.fill(Infinity);
  }

  /** Instants of the samples kept, and volts for each net. */
  result(): { instants: Float64Array; volts: Float64Array[] } {
    if (this.pending) this.keepLast();
    const { data, count, nets } = this;
    const stride = nets.length + 1;
    const column = (offset: number): Float64Array =>
      Float64Array.from({ length: count }, (_, i) => data[i * stride + offset]!);
    return { instants: column(0), volts: Array.from(nets, (_, p) => column(p + 1)) };
  }
}
