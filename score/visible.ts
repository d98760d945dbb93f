// Which bursts anybody could see: the definition of the project's design, section 5. A burst is visible when
// (local chance of one such sample)^(samples replaced) x (places tried) < 0.01. Also the classes of level and spectrum in which
// bursts are counted.

/** What is to be seen of one burst. */
export interface Burst {
  /** 1-based */
  readonly channel: number;
  readonly kind: string;
  readonly start: number;
  readonly length: number;
  /** replaced samples that differ from the original */
  readonly changed: number;
}

const AROUND = 256;

/** A copy may come from anywhere in the last so many frames: each lag is one more place tried. As far as the detector looks. */
const LAGS = 8192;

/** Chance of one such sample, from the spread of the undamaged sound around the burst (in quantising steps; of a law in codes, as its
 * own steps are wider where it is loud). Once two samples agree with those of a copy the third does in smooth sound, so copies are
 * judged by the smaller of both spreads. */
export function localChance(original: Int32Array, burst: Burst, step: number): number {
  const from = Math.max(1, burst.start - AROUND);
  const to = Math.min(original.length - 1, burst.start + burst.length + AROUND);
  let [first, second] = [0, 0];
  for (let i = from; i < to; i++) {
    first += (original[i] - original[i - 1]) ** 2;
    second += (2 * original[i] - original[i - 1] - original[i + 1]) ** 2;
  }
  const places = Math.max(1, to - from);
  const spread = (squares: number) => Math.max(1e-9, Math.sqrt(squares / places) / step);
  if (burst.kind === 'interpolated') return Math.min(1, 1.2 / spread(second));
  return Math.min(1, 0.4 / spread(burst.kind === 'repeated' ? Math.min(first, second) : first));
}

export function isVisible(original: Int32Array, burst: Burst, step: number): boolean {
  return logExpected(original, burst, step) < Math.log(0.01);
}

/** Natural logarithm of how many such bursts chance makes in the whole recording. */
export function logExpected(original: Int32Array, burst: Burst, step: number): number {
  const places = original.length * (burst.kind === 'repeated' ? LAGS : 1);
  return burst.changed * Math.log(localChance(original, burst, step)) + Math.log(places);
}

/** Level around the burst, dB below a full-scale sample (root mean square), in steps of 12 dB. */
export function levelClass(original: Int32Array, burst: Burst, bits: number): string {
  const db =
    10 *
    Math.log10(
      Math.max(
        1e-9,
        powerOf(original, burst, (x, i) => x[i]),
      ) /
        4 ** (bits - 1),
    );
  const upper = Math.min(0, Math.ceil(db / 12) * 12);
  return upper <= -72 ? 'below -72' : `${upper} to ${upper - 12}`;
}

/** Second difference against the sound itself, in dB: how much of it lies high. A tone at a tenth of the rate has -8 dB, at a hundredth -48. */
export function spectrumClass(original: Int32Array, burst: Burst): 'dark' | 'middle' | 'bright' {
  const whole = powerOf(original, burst, (x, i) => x[i]);
  const high = powerOf(original, burst, (x, i) => 2 * x[i] - x[i - 1] - x[i + 1]);
  const db = 10 * Math.log10(Math.max(1e-9, high) / Math.max(1e-9, whole));
  if (db < -36) return 'dark';
  return db < -16 ? 'middle' : 'bright';
}

function powerOf(original: Int32Array, burst: Burst, value: (x: Int32Array, i: number) => number): number {
  const from = Math.max(1, burst.start - AROUND);
  const to = Math.min(original.length - 1, burst.start + burst.length + AROUND);
  let squares = 0;
  for (let i = from; i < to; i++) squares += value(original, i) ** 2;
  return squares / Math.max(1, to - from);
}
