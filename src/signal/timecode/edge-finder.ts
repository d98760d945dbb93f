// Where a two-level signal changes sides: a comparator that follows the level and the middle of the signal by itself, with
// hysteresis against noise. Not for what the changes mean.

/** Of each new peak so much is taken into the level: a level that moved within a bit would move the edges with it. */
const LEARN = 1 / 4;
/** Samples on one side after which the level of the other is doubted: no bit lasts that long. */
const PATIENCE = 24;
/** From then on so much of the swing is forgotten per sample. */
const FORGET = 1 / 16;

export interface EdgeSettings {
  /** share of half the swing that a change must pass the middle by */
  readonly hysteresis: number;
  /** three neighbours are averaged first */
  readonly isSmoothed: boolean;
}

/** State with a life: push all samples in order. Edges are told in samples of its own scale, the first sample being 0. */
export class EdgeFinder {
  readonly #settings: EdgeSettings;
  readonly #found: (at: number) => void;
  #at = 0;
  #last = 0;
  #beforeLast = 0;
  #high = 0;
  #low = 0;
  #distance = 0;
  #isHigh = false;
  #crossing = 0;
  #peak = 0;
  #since = 0;

  constructor(settings: EdgeSettings, found: (at: number) => void) {
    this.#settings = settings;
    this.#found = found;
  }

  push(samples: Float64Array, length: number): void {
    const { hysteresis, isSmoothed } = this.#settings;
    let [last, beforeLast, high, low] = [this.#last, this.#beforeLast, this.#high, this.#low];
    let [distance, isHigh, crossing, peak, since] = [
      this.#distance,
      this.#isHigh,
      this.#crossing,
      this.#peak,
      this.#since,
    ];
    // Smoothing looks one sample ahead.
    const start = this.#at - (isSmoothed ? 1 : 0);
    for (let i = 0; i < length; i++) {
      const sample = samples[i];
      const x = isSmoothed ? beforeLast + last + sample : sample;
      beforeLast = last;
      last = sample;
      if (since++ > PATIENCE) {
        if (isHigh) low += (high - low) * FORGET;
        else high -= (high - low) * FORGET;
      }
      if (isHigh ? x > peak : x < peak) peak = x;
      const now = x - (high + low) / 2;
      if (isHigh ? now < 0 : now > 0) {
        if (isHigh ? distance >= 0 : distance <= 0) crossing = start + i - now / (now - distance);
        if (Math.abs(now) > (hysteresis * (high - low)) / 2) {
          this.#found(crossing);
          if (isHigh) high += (peak - high) * LEARN;
          else low += (peak - low) * LEARN;
          isHigh = !isHigh;
          peak = x;
          since = 0;
        }
      }
      distance = now;
    }
    this.#at += length;
    [this.#last, this.#beforeLast, this.#high, this.#low] = [last, beforeLast, high, low];
    [this.#distance, this.#isHigh, this.#crossing, this.#peak, this.#since] = [distance, isHigh, crossing, peak, since];
  }
}
