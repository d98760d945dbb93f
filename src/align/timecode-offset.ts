// How far apart two captures begin by the timecode both carry: the distance between the places of the same frames, and how surely. Not for
// samples, which alone make a join exact.
import { type Rate, rateHz, sameRate } from '../base/index.ts';
import { framesPerDay, positionAt, type SectionSummary, type TimecodeSummary } from '../signal/index.ts';

export interface TimecodeOffset {
  /** frames from a place in the first capture to the same place in the second, less that in the second: add it to the second's */
  readonly offset: number;
  /** three standard deviations of the places, rounding to whole frames, and the change of the distance along the way */
  readonly uncertaintyFrames: number;
  /** words of timecode that both captures have; 0 where one code follows the other */
  readonly words: number;
  /** words that neither has, between the end of one and the beginning of the other; 0 where they overlap */
  readonly gapWords: number;
  /** middle of the common stretch, in frames of each capture */
  readonly atFirst: number;
  readonly atSecond: number;
  /** clock of the second against that of the first, and three standard deviations of it */
  readonly driftPpm: number;
  readonly driftErrorPpm: number;
}

export type TimecodeOutcome = TimecodeOffset | { readonly refused: string };

export interface CodedCapture {
  readonly rate: Rate;
  readonly code: TimecodeSummary;
}

/** Words between the end of one code and the beginning of the other, at most: an hour at 30 frames. */
const LONGEST_GAP = 108_000;
/** Fewer common words place nothing. */
const FEWEST_WORDS = 25;
/** Places along the common stretch at which the distance is taken. */
const PLACES = 33;
/** Frames by which the distance may change from end to end; more is two clocks, or lost samples, and no single offset holds. */
const MOST_CHANGE = 4;

export function timecodeOffset(first: CodedCapture, second: CodedCapture): TimecodeOutcome {
  if (!sameRate(first.rate, second.rate)) return { refused: 'their files state different rates' };
  const pairs = first.code.sections.flatMap((a) => second.code.sections.flatMap((b) => distanceOf(a, b, first.rate)));
  pairs.sort((a, b) => b.words - a.words || a.gapWords - b.gapWords);
  const [best] = pairs;
  if (!best) {
    const refused = `their timecodes have fewer than ${FEWEST_WORDS} frames in common, and none follows the other within an hour`;
    return { refused };
  }
  // A code that stands on the tape twice fits at each of its places.
  const rival = pairs.find((pair) => Math.abs(pair.offset - best.offset) > MOST_CHANGE + best.uncertaintyFrames);
  if (rival && best.words > 0 && 2 * rival.words > best.words) {
    return {
      refused: `the same timecode stands in them more than once: ${best.offset} and ${rival.offset} frames apart fit`,
    };
  }
  if (best.change > MOST_CHANGE) {
    const { driftPpm, driftErrorPpm } = best;
    return {
      refused:
        `by timecode they begin ${best.offset} frames apart, but that changes by ${best.change.toFixed(1)} frames along the way ` +
        `(${driftPpm.toFixed(3)} ± ${driftErrorPpm.toFixed(3)} ppm): their clocks differ, or samples were lost`,
    };
  }
  return best;
}

interface Distance extends TimecodeOffset {
  readonly change: number;
}

function distanceOf(a: SectionSummary, b: SectionSummary, rate: Rate): Distance[] {
  if (!isPlayed(a) || !isPlayed(b) || a.count !== b.count || a.isDrop !== b.isDrop) return [];
  const day = framesPerDay({ count: a.count as 24 | 25 | 30, isDrop: a.isDrop });
  return [-day, 0, day].flatMap((turn) => {
    const from = Math.max(numberOf(a, 0), numberOf(b, 0) + turn);
    const to = Math.min(numberOf(a, -1), numberOf(b, -1) + turn);
    if (to - from >= FEWEST_WORDS) return [measure(a, b, { from, to, turn }, rate)];
    return from - to > 0 && from - to <= LONGEST_GAP ? [follow(a, b, { from: to, to: from, turn }, rate)] : [];
  });
}

/** Two passes that ran in opposite directions have no samples in common anyway. */
function isPlayed({ kind, direction, map }: SectionSummary): boolean {
  return kind === 'running' && direction === 'forward' && map.length >= 2;
}

function numberOf({ map }: SectionSummary, index: 0 | -1): number {
  return (map.at(index) as { number: number }).number;
}

function measure(
  a: SectionSummary,
  b: SectionSummary,
  { from, to, turn }: { from: number; to: number; turn: number },
  rate: Rate,
): Distance {
  const distances = Array.from({ length: PLACES }, (_, i) => {
    const number = from + ((to - from) * i) / (PLACES - 1);
    return positionAt(a.map, number) - positionAt(b.map, number - turn);
  });
  const middle = distances.reduce((sum, distance) => sum + distance, 0) / PLACES;
  const change = Math.max(...distances) - Math.min(...distances);
  const offset = Math.round(middle);
  const error = Math.hypot(placeError(a), placeError(b));
  const half = Math.round((from + to) / 2);
  const step = a.samplesPerFrame ?? rateHz(rate) / a.count;
  return {
    offset: 0 + offset,
    uncertaintyFrames: Math.ceil(3 * error + change / 2 + Math.abs(middle - offset)),
    words: to - from + 1,
    gapWords: 0,
    atFirst: Math.round(positionAt(a.map, half)),
    atSecond: Math.round(positionAt(b.map, half - turn)),
    driftPpm: ((distances[0] - distances[PLACES - 1]) / ((to - from) * step)) * 1e6,
    driftErrorPpm: (3e6 * Math.hypot(a.samplesPerFrameError ?? 0, b.samplesPerFrameError ?? 0)) / step,
    change,
  };
}

/** One code follows the other: both lines go on to the middle of the gap, and their steps must be one clock's. */
function follow(
  a: SectionSummary,
  b: SectionSummary,
  { from, to, turn }: { from: number; to: number; turn: number },
  rate: Rate,
): Distance {
  const found = measure(a, b, { from, to, turn }, rate);
  const reach = to - from + Math.max(a.words, b.words);
  const steps = Math.hypot(a.samplesPerFrameError ?? 0, b.samplesPerFrameError ?? 0);
  const differ = Math.abs((a.samplesPerFrame ?? 0) - (b.samplesPerFrame ?? 0));
  return {
    ...found,
    words: 0,
    gapWords: to - from,
    uncertaintyFrames: found.uncertaintyFrames + Math.ceil(3 * steps * reach),
    change: Math.max(0, differ - 3 * steps) * reach,
  };
}

/** One standard deviation of a place on the map: of a straight line through many words, or of a corner's surroundings. */
function placeError({ map, residual, words, mapTolerance }: SectionSummary): number {
  return map.length === 2 ? (2 * (residual ?? 0)) / Math.sqrt(words) : mapTolerance / 3;
}
