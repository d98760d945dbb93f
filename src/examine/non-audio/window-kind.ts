// What one window of samples looks like: sound, evenly spread bits, raw bytes, silence, or unclear. Not for whole recordings.
//
// Sound hangs together from sample to sample, or spreads like noise of nature: most samples small, few large. Compressed data does
// neither: every level of its word is as frequent as any other, and no sample tells of the next. Raw bytes (text, programs) have the same
// spread in the upper and the lower half of a word, which sound never has, and hang together little.

export type WindowKind = 'silent' | 'sound' | 'even' | 'bytes' | 'unclear';

const BINS = 16;
/** of the spread over 16 bins, in bits; 4 - 15 / (2 n ln 2) is expected of even words, 3.9 of noise clipped as loud as they are */
const EVEN_ENTROPY = 3.955;
/** weakest correlation with one of the next eight samples that counts as hanging together */
const HANGS_TOGETHER = 0.3;
const INDEPENDENT = 0.15;
/** tables and indented text repeat themselves */
const REGULAR = 0.8;
/** quieter than this below full scale no data is meant (and no ear in danger): 1/32, -30 dB */
const QUIET = 1 / 32;

/** At least 256 samples, or evenness cannot be judged. */
export function windowKind(plane: Int32Array, bits: number): WindowKind {
  const { largest, active, mean } = extentOf(plane);
  if (largest === 0) return 'silent';
  // Zero padding between bursts is left out of the spread, but not of the question how samples hang together.
  const correlation = strongestCorrelation(plane, mean);
  if (largest < QUIET * 2 ** (bits - 1)) return correlation >= HANGS_TOGETHER || active ? 'sound' : 'unclear';
  if (correlation < INDEPENDENT && isEven(plane, largest)) return 'even';
  if (correlation < REGULAR && isBytes(plane, bits)) return correlation < HANGS_TOGETHER ? 'bytes' : 'unclear';
  if (correlation >= HANGS_TOGETHER) return 'sound';
  return isPeaked(plane) ? 'sound' : 'unclear';
}

interface Extent {
  /** all bits that any magnitude uses: as good as the largest wherever only powers of two matter */
  readonly largest: number;
  readonly active: boolean;
  readonly mean: number;
}

function extentOf(plane: Int32Array): Extent {
  let largest = 0;
  let moves = 0;
  let sum = 0;
  let last = plane[0];
  for (let i = 0; i < plane.length; i++) {
    const x = plane[i];
    largest |= x ^ (x >> 31);
    moves += x === last ? 0 : 1;
    sum += x;
    last = x;
  }
  return { largest, active: moves > plane.length / 8, mean: sum / plane.length };
}

/** Over the next eight samples, around the mean; 1 where nothing moves. Ends at the first that is beyond every threshold, as in sound the
 * first mostly is. */
function strongestCorrelation(plane: Int32Array, mean: number): number {
  let power = (plane[0] - mean) ** 2;
  let strongest = 0;
  for (let i = 1, last = plane[0] - mean; i < plane.length; i++) {
    const x = plane[i] - mean;
    power += x * x;
    strongest += x * last;
    last = x;
  }
  if (power === 0) return 1;
  strongest = Math.abs(strongest) / power;
  for (let lag = 2; lag <= 8 && strongest < REGULAR; lag++) {
    let sum = 0;
    for (let i = lag; i < plane.length; i++) sum += (plane[i] - mean) * (plane[i - lag] - mean);
    strongest = Math.max(strongest, Math.abs(sum) / power);
  }
  return strongest;
}

/** Each of 16 parts of the range up to the next power of two holds as many of the samples that are not zero. */
function isEven(plane: Int32Array, largest: number): boolean {
  const shift = 32 - Math.clz32(largest) + 1 - Math.log2(BINS);
  if (shift < 0) return false;
  const counts = new Float64Array(BINS);
  let n = 0;
  for (let i = 0; i < plane.length; i++) {
    if (plane[i] === 0) continue;
    counts[(plane[i] >> shift) + BINS / 2]++;
    n++;
  }
  if (n < 200) return false;
  return entropyOf(counts, n) >= EVEN_ENTROPY - (n < 1000 ? 8 / n : 0);
}

function entropyOf(counts: Float64Array, total: number): number {
  let sum = 0;
  for (const count of counts) if (count > 0) sum -= (count / total) * Math.log2(count / total);
  return sum;
}

/** The upper and the lower byte of the upper 16 bits are spread alike, over fewer values than chance would use, and differ from one
 * another in the single words (eight bits written twice are sound). */
function isBytes(plane: Int32Array, bits: number): boolean {
  if (bits < 16) return false;
  const upper = new Float64Array(256);
  const lower = new Float64Array(256);
  let n = 0;
  let same = 0;
  for (let i = 0; i < plane.length; i++) {
    const word = plane[i] >> (bits - 16);
    if (word === 0) continue;
    upper[(word >> 8) & 255]++;
    lower[word & 255]++;
    if (((word >> 8) & 255) === (word & 255)) same++;
    n++;
  }
  if (n < 200 || same > n / 4) return false;
  let differing = 0;
  for (let v = 0; v < 256; v++) differing += Math.abs(upper[v] - lower[v]);
  // Two samples of n from one spread over k values differ by about sqrt(4 k n / pi) counts.
  const used = upper.reduce((count, value, v) => count + (value + lower[v] > 0 ? 1 : 0), 0);
  return differing < 1.6 * Math.sqrt((4 * used * n) / Math.PI) && entropyOf(upper, n) < 7;
}

/** Noise of nature: the mean square far above the square of the mean magnitude, as in a bell-shaped spread (pi/2) or one more peaked. */
function isPeaked(plane: Int32Array): boolean {
  let mean = 0;
  for (let i = 0; i < plane.length; i++) mean += plane[i];
  mean /= plane.length;
  let magnitude = 0;
  let power = 0;
  for (let i = 0; i < plane.length; i++) {
    magnitude += Math.abs(plane[i] - mean);
    power += (plane[i] - mean) ** 2;
  }
  // 4/3 for even spread, pi/2 = 1.57 for the bell.
  return (power * plane.length) / magnitude ** 2 > 1.46;
}
