// Places of concealment that repeat with the turn of a drum: their distance in samples is that of a field or frame of one format, and with it the rate that
// the format locks to its picture. Only distances of known formats are asked for.
import { type Rate, rate } from '../../base/index.ts';
import { type Finding, isLoss } from '../finding.ts';

interface KnownPeriod {
  readonly frames: number;
  readonly label: string;
  /** rates at which a format has this many samples in a field or frame */
  readonly rates: readonly Rate[];
}

const COLOUR = rate(6_300_000, 143);

/** A loss on every second field or frame shows here as well. */
const PERIODS: readonly KnownPeriod[] = [
  { frames: 525, label: 'fields of 525 samples', rates: [rate(4_500_000, 143)] },
  { frames: 625, label: 'fields of 625 samples', rates: [rate(31_250)] },
  { frames: 735, label: 'fields of 735 samples', rates: [COLOUR, rate(44_100)] },
  { frames: 882, label: 'fields of 882 samples', rates: [rate(44_100)] },
  { frames: 1440, label: 'frames of 1440 samples (30 ms)', rates: [rate(48_000)] },
  { frames: 1323, label: 'frames of 1323 samples (30 ms)', rates: [rate(44_100)] },
  { frames: 960, label: 'frames of 960 samples (30 ms, or half of 40 ms)', rates: [rate(32_000), rate(48_000)] },
  { frames: 1280, label: 'frames of 1280 samples (40 ms)', rates: [rate(32_000)] },
];

export interface LossPeriod extends KnownPeriod {
  readonly places: number;
  /** that chance gives such a rhythm at any of the known distances */
  readonly chance: number;
}

const FEWEST_PLACES = 12;
const SURE = 1e-6;
/** Shorter than any of the distances. */
const LEAST_APART = 500;

/** Undefined where no distance stands out, or two that are no multiples of each other do. */
export function lossPeriod(findings: readonly Finding[]): LossPeriod | undefined {
  const starts = apart(findings.filter(isLoss).map(({ start }) => start));
  if (starts.length < FEWEST_PLACES) return undefined;
  const judged = PERIODS.map((known) => {
    const strength = rhythm(starts, known.frames);
    return {
      ...known,
      places: starts.length,
      chance: Math.min(1, PERIODS.length * Math.exp(-starts.length * strength ** 2)),
    };
  }).sort((a, b) => a.chance - b.chance);
  const [best, second] = judged;
  if (best.chance > SURE) return undefined;
  // The next must be far less likely to be meant, by its own odds.
  return Math.log(second.chance) < 0.6 * Math.log(best.chance) ? undefined : best;
}

/** Losses of one burst come close together and are one place: the odds need places that could lie anywhere. */
function apart(starts: readonly number[]): number[] {
  const out: number[] = [];
  for (const start of [...starts].sort((a, b) => a - b)) {
    if (out.length === 0 || start - out[out.length - 1] >= LEAST_APART) out.push(start);
  }
  return out;
}

/** 0 to 1: how far the places agree in phase (R. A. Fisher's and Rayleigh's test of directions; chance exp(-n r^2)). */
function rhythm(starts: readonly number[], period: number): number {
  let [re, im] = [0, 0];
  for (const start of starts) {
    const turn = (2 * Math.PI * (start % period)) / period;
    re += Math.cos(turn);
    im += Math.sin(turn);
  }
  return Math.hypot(re, im) / starts.length;
}
