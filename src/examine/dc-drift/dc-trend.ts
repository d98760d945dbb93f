// Mean, slope and largest step of a row of stretch means, with what their own scatter makes of each. Not for samples.
// Neighbouring stretches may hang together (slow sound, fading), so the scatter of the mean is also taken from groups of stretches and the
// larger figure stands. The step is judged against the scatter from one stretch to the next, all places counted.

export interface DcTrend {
  /** twice the standard deviation of the mean of all */
  readonly uncertainty: number;
  /** per stretch */
  readonly slope: number;
  /** three standard deviations */
  readonly slopeUncertainty: number;
  readonly step: {
    /** number of the first stretch after the step */
    readonly at: number;
    readonly change: number;
    /** steps of this size that scatter alone would give in as many stretches; capped at 1 */
    readonly expectedByChance: number;
  };
}

/** Undefined for fewer than four stretches. */
export function trendOf(means: Float64Array): DcTrend | undefined {
  const n = means.length;
  if (n < 4) return undefined;
  const mean = averageOf(means, 0, n);
  const spread = Math.max(...[1, 2, 4, 8].filter((group) => n / group >= 4).map((group) => errorOfMean(means, group)));
  const { slope, error } = slopeOf(means, mean);
  // Stretches that hang together carry less: the slope's error grows as that of the mean does.
  const inflation = Math.max(1, spread / (errorOfMean(means, 1) || 1));
  return {
    uncertainty: 2 * spread,
    slope,
    slopeUncertainty: 3 * error * inflation,
    step: largestStep(means, inflation),
  };
}

function averageOf(means: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += means[i];
  return sum / (to - from);
}

function errorOfMean(means: Float64Array, group: number): number {
  const groups = Math.floor(means.length / group);
  const own = Float64Array.from({ length: groups }, (_, g) => averageOf(means, g * group, (g + 1) * group));
  const middle = averageOf(own, 0, groups);
  const squares = own.reduce((sum, value) => sum + (value - middle) ** 2, 0);
  return Math.sqrt(squares / (groups - 1) / groups);
}

function slopeOf(means: Float64Array, mean: number): { slope: number; error: number } {
  const n = means.length;
  const centre = (n - 1) / 2;
  let xy = 0;
  let xx = 0;
  for (let i = 0; i < n; i++) {
    xy += (i - centre) * (means[i] - mean);
    xx += (i - centre) ** 2;
  }
  const slope = xy / xx;
  let left = 0;
  for (let i = 0; i < n; i++) left += (means[i] - mean - slope * (i - centre)) ** 2;
  return { slope, error: Math.sqrt(left / (n - 2) / xx) };
}

/** The place where before and after differ most for their lengths (likelihood of one change point in white scatter). */
function largestStep(means: Float64Array, inflation: number): DcTrend['step'] {
  const n = means.length;
  const total = averageOf(means, 0, n) * n;
  let best = { at: 0, change: 0, score: -1, share: 1 };
  for (let at = 2, before = means[0] + means[1]; at <= n - 2; before += means[at], at++) {
    const change = (total - before) / (n - at) - before / at;
    const share = Math.sqrt((at * (n - at)) / n);
    if (Math.abs(change) * share > best.score) best = { at, change, score: Math.abs(change) * share, share };
  }
  const scatter = scatterBeside(means, best.at) * inflationFor(means, best.at, inflation);
  const z = scatter === 0 ? (best.change === 0 ? 0 : 40) : best.score / scatter;
  return { at: best.at, change: best.change, expectedByChance: Math.min(1, n * Math.exp((-z * z) / 2)) };
}

/** Scatter within the two sides of a step. */
function scatterBeside(means: Float64Array, at: number): number {
  const [a, b] = [averageOf(means, 0, at), averageOf(means, at, means.length)];
  let squares = 0;
  for (let i = 0; i < means.length; i++) squares += (means[i] - (i < at ? a : b)) ** 2;
  return Math.sqrt(squares / (means.length - 2));
}

/** A step itself makes the stretches hang together; what remains once it is taken out decides. */
function inflationFor(means: Float64Array, at: number, inflation: number): number {
  const [a, b] = [averageOf(means, 0, at), averageOf(means, at, means.length)];
  const level = means.map((value, i) => value - (i < at ? a : b));
  const groups = [2, 4, 8].filter((group) => means.length / group >= 4).map((group) => errorOfMean(level, group));
  const own = Math.max(1, Math.max(0, ...groups) / (errorOfMean(level, 1) || 1));
  return Math.min(own, Math.max(1, inflation));
}
