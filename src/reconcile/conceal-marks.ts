// Local evidence of concealment in one read: stretches of differing samples that look like one mechanism of concealment
// far more often than chance allows. Works without any finding; a look alone proves nothing.
import { LOOKS } from './look.ts';

/** A read is called concealed only at odds beyond this against chance. */
export const LEAST_ODDS = 20;

/** Share of differing samples a concealed stretch shows with the look: whole bursts, and lattices shared by two reads. */
const SHARES = [0.9, 0.5];
/** A stretch that has lost this much since its peak is over. */
const LIMIT = Math.log(LEAST_ODDS * LOOKS.length);

export interface ConcealMarks {
  /**
   * per differing position that has a look: log odds above chance of the stretch it belongs to, 0 = no evidence. The
   * looks are several tries, so each has paid for all.
   */
  readonly odds: Float64Array;
  /** index into LOOKS of the mechanism that gave the odds */
  readonly mechanism: Uint8Array;
}

/** `looks[k]` is the look of the k-th differing position of the run, `chance` that of the read (look.ts). */
export function markConcealed(looks: Uint8Array, chance: Float64Array): ConcealMarks {
  const marks = { odds: new Float64Array(looks.length), mechanism: new Uint8Array(looks.length) };
  for (let m = 0; m < LOOKS.length; m++) {
    for (const share of SHARES) if (chance[m] < share) scan(looks, m, share, chance[m], marks);
  }
  return marks;
}

/** Sequential log-likelihood ratio; a stretch runs from the last reset to its peak and is closed when it has lost LIMIT. */
function scan(looks: Uint8Array, m: number, share: number, chance: number, marks: ConcealMarks): void {
  const gain = Math.log(share / chance);
  const loss = Math.log((1 - share) / (1 - chance));
  let sum = 0;
  let first = 0;
  let peak = 0;
  let peakAt = 0;
  for (let k = 0; k < looks.length; k++) {
    if (sum <= 0 || sum < peak - LIMIT) {
      if (peak > 0) mark(looks, m, first, peakAt, peak, marks);
      sum = peak = 0;
      first = k;
    }
    sum += looks[k] & LOOKS[m] ? gain : loss;
    if (sum > peak) {
      peak = sum;
      peakAt = k;
    }
  }
  if (peak > 0) mark(looks, m, first, peakAt, peak, marks);
}

function mark(looks: Uint8Array, m: number, first: number, last: number, peak: number, marks: ConcealMarks): void {
  const odds = peak - Math.log(LOOKS.length);
  for (let k = first; k <= last; k++) {
    if (looks[k] & LOOKS[m] && odds > marks.odds[k]) {
      marks.odds[k] = odds;
      marks.mechanism[k] = m;
    }
  }
}
