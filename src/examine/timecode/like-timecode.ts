// Whether a window may hold timecode, at little cost: two levels, and changes that are one half bit or a whole one apart, the half ones in pairs. A
// first sieve for the decoder; it lets some sound through and must not hold timecode back.

/** Frames looked at first, of each window. */
const GLANCE = 512;
/** (mean magnitude)^2 / mean square: 1 for two levels, 0.81 for a tone, 0.64 for noise; timecode behind noise 10 dB below it has 0.91, cut
 * to 300-3000 Hz about 0.8. */
const TWO_LEVELS = 0.72;
/** Share of the mean magnitude by which a change must pass the middle. */
const HYSTERESIS = 0.4;
/** Shorter than this on average, intervals are too coarse in samples to be told apart. */
const COARSE = 4;
const LONGEST = 1024;

export function isLikeTimecode(plane: Int32Array): boolean {
  const glance = plane.subarray(0, GLANCE);
  const mean = meanOf(glance);
  const magnitude = magnitudeOf(glance, mean);
  if (magnitude === 0) return false;
  if (magnitude ** 2 < TWO_LEVELS * meanSquareOf(glance, mean)) return false;
  const intervals = intervalsOf(plane, mean, HYSTERESIS * magnitude);
  if (intervals.length < 8) return false;
  const average = plane.length / intervals.length;
  return average < COARSE ? noneIsLong(intervals, average) : hasTwoLengths(intervals);
}

function meanOf(plane: Int32Array): number {
  let sum = 0;
  for (let i = 0; i < plane.length; i++) sum += plane[i];
  return sum / plane.length;
}

function magnitudeOf(plane: Int32Array, mean: number): number {
  let sum = 0;
  for (let i = 0; i < plane.length; i++) sum += Math.abs(plane[i] - mean);
  return sum / plane.length;
}

function meanSquareOf(plane: Int32Array, mean: number): number {
  let sum = 0;
  for (let i = 0; i < plane.length; i++) sum += (plane[i] - mean) ** 2;
  return sum / plane.length;
}

/** For one window's intervals at a time. */
let scratch = new Uint16Array(0);

/** Frames between changes of side; valid until the next window is looked at. */
function intervalsOf(plane: Int32Array, mean: number, margin: number): Uint16Array {
  if (scratch.length < plane.length) scratch = new Uint16Array(plane.length);
  const intervals = scratch;
  let count = 0;
  const [upper, lower] = [mean + margin, mean - margin];
  let isHigh = plane[0] > mean;
  let last = -1;
  for (let i = 0; i < plane.length; i++) {
    if (isHigh ? plane[i] > lower : plane[i] < upper) continue;
    isHigh = !isHigh;
    if (last >= 0) intervals[count++] = Math.min(LONGEST, i - last);
    last = i;
  }
  return intervals.subarray(0, count);
}

/** A whole bit is no longer than twice the average, and a sample or two; of random lengths one in thirty is. */
function noneIsLong(intervals: Uint16Array, average: number): boolean {
  let long = 0;
  for (let k = 0; k < intervals.length; k++) if (intervals[k] > 2 * average + 1.5) long++;
  return long <= 0.01 * intervals.length;
}

/** Nearly all are a whole bit or half of one, and the halves come in twos. */
function hasTwoLengths(intervals: Uint16Array): boolean {
  const whole = ninthTenth(intervals);
  let [halves, wholes, odd, run] = [0, 0, 0, 0];
  for (let k = 0; k < intervals.length; k++) {
    const share = intervals[k] / whole;
    if (share > 0.3 && share < 0.7) {
      halves++;
      run++;
      continue;
    }
    if (share > 0.75 && share < 1.3) wholes++;
    odd += run % 2;
    run = 0;
  }
  const all = intervals.length;
  return halves + wholes >= 0.85 * all && halves >= 0.05 * all && wholes >= 0.05 * all && odd <= 0.05 * all + 1;
}

/** Nine of ten are no longer: the whole bit, where there is one. */
function ninthTenth(intervals: Uint16Array): number {
  const counts = new Uint32Array(LONGEST + 1);
  for (let k = 0; k < intervals.length; k++) counts[intervals[k]]++;
  let seen = 0;
  for (let length = 0; length <= LONGEST; length++) {
    seen += counts[length];
    if (seen >= 0.9 * intervals.length) return length;
  }
  return LONGEST;
}
