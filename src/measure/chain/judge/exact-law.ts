// Whether every captured sample is the sent one times one number, shortened to a word in one of three ways, plus a whole offset, within the ends of the scale.
// If so that is proof, and the number is known to parts in a million or better. Not for anything with chance in it (residual.ts).
import { eachPair, type PairSource } from './pairs.ts';
import { type Fraction, simplestDb, tellingFraction } from './simple-ratio.ts';
import type { Survey } from './survey.ts';

export type Shortening = 'rounded' | 'cut' | 'towards zero';

export interface Span {
  readonly frame: number;
  readonly frames: number;
}

export interface ExactLaw {
  readonly shortening: Shortening;
  /** of the word that came out, in steps of the capture: a power of two */
  readonly step: number;
  /** magnitude; `low` to `high` explain all samples alike */
  readonly ratio: { readonly value: number; readonly low: number; readonly high: number };
  readonly fraction?: Fraction;
  readonly db?: number;
  readonly isTurned: boolean;
  /** steps of the capture */
  readonly offset: number;
  /** samples that lie beyond the ends of the scale; `least` and `most` are those ends */
  readonly clipped: number;
  readonly least: number;
  readonly most: number;
  readonly frames: number;
  /** spans of samples that do not obey */
  readonly misses: readonly Span[];
  readonly missedFrames: number;
  /** of them, those that lie in spans of one value: muted or held */
  readonly stillFrames: number;
  /** of the samples above half of full scale, the share that misses */
  readonly loudShare: number;
}

/** Programs round twice, to 32 bits and then to the word. In steps of 24 bits the first is off by 1/512 at most: so much beyond half a step still counts as rounding. */
const SLACK = 2 ** -9 + 1e-6;
/** Error of products of doubles; a cut word never reaches the next one. */
const FLOAT = 1e-8;
/** Intervals are formed over so many frames, so that a few wrong samples spoil only their own. */
const CHUNK = 500;
/** After so many without success no more are tried. */
const TRIED_CHUNKS = 60;
/** Fewer obeying chunks than this and it is no law. */
const LEAST_OBEYING = 0.5;
/** Misses nearer than this are one span. */
const SPAN_GAP = 8;
const MOST_SPANS = 1000;

export async function exactLaw(from: PairSource, survey: Survey): Promise<ExactLaw | undefined> {
  const { step } = survey;
  // where two ways explain all alike (one bit less) the plainer one stands first
  const trials = (['cut', 'rounded', 'towards zero'] as const).map((shortening) => ({
    shortening,
    offset: offsetFor(shortening, step, survey),
    chunks: [] as (readonly [number, number])[],
  }));
  const ends = { least: survey.least, most: survey.most };
  await eachPair(from, ({ captured, expected }) => {
    for (let at = 0; at < captured.length; at += CHUNK) {
      const to = Math.min(captured.length, at + CHUNK);
      for (const trial of trials) {
        if (isHopeless(trial.chunks)) continue;
        trial.chunks.push(chunkInterval(captured, expected, at, to, trial.shortening, step, trial.offset, ends));
      }
    }
  });
  const laws = trials.flatMap((trial) => {
    const agreed = agreedInterval(trial.chunks);
    return agreed && agreed.share >= LEAST_OBEYING ? [{ ...trial, ...agreed }] : [];
  });
  laws.sort((a, b) => b.share - a.share);
  return laws.length > 0 ? await checked(from, laws[0], step, ends) : undefined;
}

/** The whole offset, of the same rest as the samples, nearest to what the fit and the way of shortening say. */
function offsetFor(shortening: Shortening, step: number, { first, offset, silence }: Survey): number {
  const bias = shortening === 'cut' ? -step / 2 : 0;
  const rest = ((first % step) + step) % step;
  const wanted = silence && silence.rms === 0 ? silence.mean : offset.value - bias;
  return Math.round((wanted - rest) / step) * step + rest;
}

/** Bounds of the product before shortening, in steps. */
function bounds(word: number, shortening: Shortening): readonly [number, number] {
  if (shortening === 'rounded') return [word - 0.5 - SLACK, word + 0.5 + SLACK];
  if (shortening === 'cut') return [word - FLOAT, word + 1 - FLOAT];
  return [word > 0 ? word - FLOAT : word - 1 + FLOAT, word < 0 ? word + FLOAT : word + 1 - FLOAT];
}

function chunkInterval(
  captured: Int32Array,
  expected: Float64Array,
  from: number,
  to: number,
  shortening: Shortening,
  step: number,
  offset: number,
  ends: { readonly least: number; readonly most: number },
): readonly [number, number] {
  let low = -Infinity;
  let high = Infinity;
  for (let n = from; n < to; n++) {
    const s = expected[n] / step;
    const [under, over] = bounds((captured[n] - offset) / step, shortening);
    const lower = captured[n] === ends.least ? -Infinity : under;
    const upper = captured[n] === ends.most ? Infinity : over;
    if (s === 0) {
      if (lower > 0 || upper < 0) return [1, 0];
      continue;
    }
    const a = lower / s;
    const b = upper / s;
    low = Math.max(low, Math.min(a, b));
    high = Math.min(high, Math.max(a, b));
  }
  return [low, high];
}

function isHopeless(chunks: readonly (readonly [number, number])[]): boolean {
  // silence, where everything obeys, comes first
  return chunks.length === TRIED_CHUNKS && chunks.filter(([low, high]) => low <= high).length < TRIED_CHUNKS / 2;
}

/** The ratios on which most chunks agree. */
function agreedInterval(chunks: readonly (readonly [number, number])[]) {
  const fit = chunks.filter(([low, high]) => low <= high);
  if (fit.length === 0) return undefined;
  const events = fit.flatMap(([low, high]) => [
    { at: low, by: 1 },
    { at: high, by: -1 },
  ]);
  events.sort((a, b) => a.at - b.at || b.by - a.by);
  let depth = 0;
  let best = { depth: 0, low: 0, high: 0 };
  for (let k = 0; k < events.length; k++) {
    depth += events[k].by;
    if (depth > best.depth) best = { depth, low: events[k].at, high: events[k + 1]?.at ?? events[k].at };
  }
  const isBounded = Number.isFinite(best.low) && Number.isFinite(best.high) && best.low * best.high > 0;
  return isBounded ? { low: best.low, high: best.high, share: best.depth / chunks.length } : undefined;
}

interface Candidate {
  readonly shortening: Shortening;
  readonly offset: number;
  readonly low: number;
  readonly high: number;
}

async function checked(
  from: PairSource,
  { shortening, offset, low, high }: Candidate,
  step: number,
  ends: { readonly least: number; readonly most: number },
): Promise<ExactLaw> {
  const isTurned = high < 0;
  const [least, most] = isTurned ? [-high, -low] : [low, high];
  const fraction = tellingFraction(least, most);
  const db = simplestDb(least, most);
  const value = fraction ? fraction.num / fraction.den : db === undefined ? (least + most) / 2 : 10 ** (db / 20);
  const ratio = isTurned ? -value : value;
  const misses: Miss[] = [];
  let missedFrames = 0;
  let clipped = 0;
  let frames = 0;
  let loud = 0;
  let loudMissed = 0;
  const half = 2 ** (from.capture.info.bits - 2);
  await eachPair(from, ({ captured, expected, start }) => {
    frames += captured.length;
    for (let n = 0; n < captured.length; n++) {
      const c = captured[n];
      const product = (expected[n] * ratio) / step;
      const isLoud = Math.abs(expected[n]) > half;
      if (isLoud) loud++;
      const [under, over] = bounds((c - offset) / step, shortening);
      if (product >= under && product <= over) continue;
      const isBeyond = (c === ends.most && product > over) || (c === ends.least && product < under);
      if (isBeyond) clipped++;
      else {
        missedFrames++;
        if (isLoud) loudMissed++;
        addMiss(misses, start + n, c);
      }
    }
  });
  return {
    shortening,
    step,
    ratio: { value, low: least, high: most },
    ...(fraction ? { fraction } : {}),
    ...(db === undefined ? {} : { db }),
    isTurned,
    offset,
    clipped,
    ...ends,
    frames,
    misses: misses.map((miss) => ({ frame: miss.frame, frames: miss.frames })),
    missedFrames,
    loudShare: loud > 0 ? loudMissed / loud : 0,
    stillFrames: misses.reduce((sum, miss) => sum + (miss.isStill && miss.frames > 2 ? miss.frames : 0), 0),
  };
}

interface Miss {
  readonly frame: number;
  frames: number;
  readonly value: number;
  isStill: boolean;
}

function addMiss(misses: Miss[], frame: number, value: number): void {
  const last = misses[misses.length - 1];
  if (last && frame - (last.frame + last.frames) < SPAN_GAP) {
    last.frames = frame - last.frame + 1;
    last.isStill &&= last.value === value;
  } else if (misses.length < MOST_SPANS) misses.push({ frame, frames: 1, value, isStill: true });
}
