// First look at a channel: how many samples are equal, the gain, offset and leak that fit best, what stands in digital zero, and the gain at each level.
// Sums only; what they mean is said elsewhere.
import { BURST_FRAMES, BURST_START, CELL_FRAMES, EDGE_FRAMES, SILENCE_FRAMES, signalFrames } from '../layout.ts';
import { eachPair, type Pair, type PairSource, type Region, regionOf } from './pairs.ts';

export interface Survey {
  readonly frames: number;
  readonly equal: number;
  /** gain, leak of the other channel and offset (steps of the capture) that fit the hiss best, each with one standard deviation */
  readonly gain: Estimate;
  readonly leak: Estimate;
  readonly offset: Estimate;
  /** root mean square, in steps of the capture, of what the fit leaves in the hiss */
  readonly restRms: number;
  readonly hissRms: number;
  /** digital zero in the lead-in and the tail, away from what filters smear; undefined where none was captured */
  readonly silence: Silence | undefined;
  /** gain at each octave of the sent sample's size, loudest first */
  readonly levels: readonly LevelGain[];
  readonly least: number;
  readonly most: number;
  /** of the captured word: the power of two by which nearly all samples differ from the first, in steps of the capture */
  readonly step: number;
  readonly first: number;
  /** bits of the sent word that were 0 as well as 1 */
  readonly movedBits: number;
  /** how many different values were sent; null for long words and where frames have no partner of their own */
  readonly sentValues: number | null;
  /** first sent frames at which samples differ, at most a few */
  readonly firstDifferences: readonly { readonly frame: number; readonly sentFrame: number }[];
}

export interface Silence {
  readonly frames: number;
  readonly mean: number;
  readonly rms: number;
  /** greatest distance from the mean */
  readonly most: number;
}

export interface Estimate {
  readonly value: number;
  readonly spread: number;
}

export interface LevelGain {
  /** upper end of the octave, dB below full scale */
  readonly levelDb: number;
  readonly gain: Estimate;
  readonly count: number;
}

const MOST_OCTAVES = 16;
const MOST_SHOWN = 8;
const PRE_RING = 300;
const POST_RING = 2400;

export async function surveyOf(from: PairSource): Promise<Survey> {
  const hiss = newSums();
  const silence = { n: 0, sum: 0, square: 0, least: Infinity, most: -Infinity };
  const octaves = Array.from({ length: MOST_OCTAVES }, () => ({ n: 0, ss: 0, sc: 0, cc: 0, c: 0, s: 0 }));
  const state = {
    frames: 0,
    equal: 0,
    least: Infinity,
    most: -Infinity,
    bits: 0,
    first: undefined as number | undefined,
  };
  const shown: { frame: number; sentFrame: number }[] = [];
  const full = 2 ** (from.capture.info.bits - 1);
  const sent = sentTally(from);
  const lowest = new Float64Array(32);
  const frames = signalFrames(from.signal);
  await eachPair(from, (pair) => {
    const { captured, expected } = pair;
    const other = pair.other();
    state.first ??= captured[0];
    for (let n = 0; n < captured.length; n++) {
      const c = captured[n];
      const s = expected[n];
      if (c === s) state.equal++;
      else if (shown.length < MOST_SHOWN) shown.push({ frame: pair.start + n, sentFrame: sentFrame(pair, n) });
      if (c < state.least) state.least = c;
      if (c > state.most) state.most = c;
      const bits = c ^ (state.first ?? c);
      if (bits !== 0) lowest[31 - Math.clz32(bits & -bits)]++;
      const at = Math.round(sentFrame(pair, n));
      const region = regionOf(from.signal, at);
      if (region === 'hiss') addTo(hiss, s, other[n], c);
      else if (region === 'silence') addSilence(silence, at, frames, c);
      addLevel(octaves, region, s, c, full, at);
    }
    state.frames += captured.length;
    sent.add(expected);
  });
  const fit = solved(hiss);
  return {
    frames: state.frames,
    equal: state.equal,
    ...fit,
    silence: silenceOf(silence),
    levels: octaves.flatMap((sums, k) => levelGain(sums, k)),
    least: state.least,
    most: state.most,
    step: stepOf(lowest),
    first: state.first ?? 0,
    firstDifferences: shown,
    ...sent.result(),
  };
}

/** Wrong samples and the ends of the scale may lie beside the steps: one in a thousand is allowed. */
function stepOf(lowest: Float64Array): number {
  const all = lowest.reduce((a, b) => a + b, 0);
  let sum = 0;
  for (const [bit, count] of lowest.entries()) {
    sum += count;
    if (sum > all / 1000) return 2 ** bit;
  }
  return 1;
}

/** Which bits and values were really sent. */
function sentTally({ signal, capture, track }: PairSource) {
  const scale = 2 ** (capture.info.bits - signal.bits);
  const isCounted = track.clock.kind === 'locked';
  const seen = signal.bits <= 16 && isCounted ? new Uint8Array(2 ** signal.bits) : undefined;
  let ones = 0;
  let zeros = 0;
  return {
    add(expected: Float64Array) {
      if (!isCounted) return;
      for (const x of expected) {
        const word = x / scale;
        ones |= word;
        zeros |= ~word;
        if (seen) seen[word & (seen.length - 1)] = 1;
      }
    },
    result() {
      const moved = (ones & zeros & (2 ** signal.bits - 1)).toString(2).replaceAll('0', '').length;
      return { movedBits: moved, sentValues: seen ? seen.reduce((sum, x) => sum + x, 0) : null };
    },
  };
}

export function sentFrame({ sentStart, step }: Pair, n: number): number {
  return sentStart + n * step;
}

function newSums() {
  return { n: 0, s: 0, o: 0, c: 0, ss: 0, so: 0, oo: 0, sc: 0, oc: 0, cc: 0 };
}

function addTo(sums: ReturnType<typeof newSums>, s: number, o: number, c: number): void {
  sums.n++;
  sums.s += s;
  sums.o += o;
  sums.c += c;
  sums.ss += s * s;
  sums.so += s * o;
  sums.oo += o * o;
  sums.sc += s * c;
  sums.oc += o * c;
  sums.cc += c * c;
}

type SilenceSums = { n: number; sum: number; square: number; least: number; most: number };

function addSilence(sums: SilenceSums, at: number, frames: number, c: number): void {
  if (at >= SILENCE_FRAMES - PRE_RING && at < frames - SILENCE_FRAMES + POST_RING) return;
  sums.n++;
  sums.sum += c;
  sums.square += c * c;
  sums.least = Math.min(sums.least, c);
  sums.most = Math.max(sums.most, c);
}

/** Only samples well inside a burst or outside its surroundings: filters smear the edges. */
function addLevel(
  octaves: { n: number; ss: number; sc: number; cc: number; c: number; s: number }[],
  region: Region,
  s: number,
  c: number,
  full: number,
  at: number,
): void {
  if (region === 'silence' || region === 'gap' || s === 0) return;
  const offset = (at - EDGE_FRAMES) % CELL_FRAMES;
  if (region === 'burst' && (offset < BURST_START || offset >= BURST_START + BURST_FRAMES)) return;
  const octave = Math.floor(-Math.log2(Math.abs(s) / full));
  if (octave < 0 || octave >= MOST_OCTAVES) return;
  const sums = octaves[octave];
  sums.n++;
  sums.s += s;
  sums.c += c;
  sums.ss += s * s;
  sums.sc += s * c;
  sums.cc += c * c;
}

function levelGain(
  { n, s, c, ss, sc, cc }: { n: number; ss: number; sc: number; cc: number; c: number; s: number },
  octave: number,
): LevelGain[] {
  if (n < 50) return [];
  const gain = sc / ss;
  const rest = Math.max(0, cc - gain * sc - (c - gain * s) ** 2 / n) / n;
  return [{ levelDb: -20 * octave * Math.log10(2), gain: { value: gain, spread: Math.sqrt(rest / ss) }, count: n }];
}

/** Least squares of c = gain s + leak o + offset over the hiss. */
function solved({ n, s, o, c, ss, so, oo, sc, oc, cc }: ReturnType<typeof newSums>) {
  const count = Math.max(1, n);
  const css = ss - (s * s) / count;
  const cso = so - (s * o) / count;
  const coo = oo - (o * o) / count;
  const csc = sc - (s * c) / count;
  const coc = oc - (o * c) / count;
  const ccc = cc - (c * c) / count;
  const det = css * coo - cso * cso || 1;
  const gain = (csc * coo - coc * cso) / det;
  const leak = (coc * css - csc * cso) / det;
  const offset = (c - gain * s - leak * o) / count;
  const rest = Math.max(0, ccc - gain * csc - leak * coc) / Math.max(1, n - 3);
  return {
    gain: { value: gain, spread: Math.sqrt((rest * coo) / det) },
    leak: { value: leak, spread: Math.sqrt((rest * css) / det) },
    offset: { value: offset, spread: Math.sqrt(rest / count) },
    restRms: Math.sqrt(rest),
    hissRms: Math.sqrt(css / count),
  };
}

function silenceOf({ n, sum, square, least, most }: SilenceSums): Silence | undefined {
  if (n < 500) return undefined;
  const mean = sum / n;
  return {
    frames: n,
    mean,
    rms: Math.sqrt(Math.max(0, square / n - mean * mean)),
    most: Math.max(most - mean, mean - least),
  };
}
