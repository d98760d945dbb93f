// What a deck means by the validity bit: set on any error, only where it could not correct, or never. Judged from a log beside the
// concealment that the detectors saw; agreement by chance is counted against it. V is evidence about the deck, not proof of a loss.
import { firstEndingAfter, mergeSpans, type Span, spanEnd } from '../../base/index.ts';
import { BLOCK_FRAMES, type ValidityLog } from '../../tape/index.ts';
import { type Finding, isLoss } from '../finding.ts';

export interface ValidityHabit {
  /** 1-based file channel; 0 = all of them */
  readonly channel: number;
  readonly habit: 'uncorrectable only' | 'any error' | 'never' | 'unrelated' | 'cannot tell';
  readonly confidence: number;
  /** concealed places seen, and how many of them were flagged */
  readonly losses: number;
  readonly lossesFlagged: number;
  /** flagged places, and how many of them lie at concealment that was seen */
  readonly flags: number;
  readonly flagsAtLosses: number;
  /** places with both, of all places with either, in percent; null where there are none */
  readonly agreementPercent: number | null;
  /** how many losses would be flagged by chance */
  readonly expectedByChance: number;
  readonly reason: string;
}

/** A log's clock and a block's edge are no finer than this. */
const NEAR_FRAMES = 2 * BLOCK_FRAMES;
const FEWEST = 5;

export function validityHabit(
  log: ValidityLog,
  { channels, findings }: { readonly channels: number; readonly findings: readonly Finding[] },
): ValidityHabit[] {
  if (log.channel > channels) return [];
  const losses = places(
    findings.filter((one) => isLoss(one) && (log.channel === 0 || one.channels.includes(log.channel))),
    log.covered,
  );
  const flags = places(log.flagged, log.covered);
  const lossesFlagged = losses.filter((loss) => isNearAny(loss, flags)).length;
  const flagsAtLosses = flags.filter((flag) => isNearAny(flag, losses)).length;
  const chance = chanceOfFlag(flags, losses, log.covered);
  const either = losses.length + flags.length - flagsAtLosses;
  const counts = { losses: losses.length, lossesFlagged, flags: flags.length, flagsAtLosses };
  return [
    {
      channel: log.channel,
      ...counts,
      agreementPercent: either === 0 ? null : Number(((100 * flagsAtLosses) / either).toFixed(1)),
      expectedByChance: Number((chance * losses.length).toFixed(3)),
      ...judge(counts, chance),
    },
  ];
}

function judge(
  {
    losses,
    lossesFlagged,
    flags,
    flagsAtLosses,
  }: Pick<ValidityHabit, 'losses' | 'lossesFlagged' | 'flags' | 'flagsAtLosses'>,
  chance: number,
): Pick<ValidityHabit, 'habit' | 'confidence' | 'reason'> {
  const cannot = (reason: string) => ({ habit: 'cannot tell' as const, confidence: 0, reason });
  if (losses < FEWEST)
    return cannot(`only ${losses} concealed places were seen in what the log covers; ${FEWEST} are needed`);
  if (flags === 0) {
    const reason = `no sample was flagged at ${losses} concealed places`;
    // A deck that flags every second uncorrectable error would be silent by chance once in 2^n.
    return { habit: 'never', confidence: 1 - 0.5 ** losses, reason };
  }
  const byChance = upperTail(lossesFlagged, losses, chance);
  if (byChance > 1e-3) {
    const reason = `${lossesFlagged} of ${losses} concealed places are flagged, and ${(chance * losses).toFixed(1)} would be by chance`;
    const isMany = flags >= 4 * FEWEST && losses >= 4 * FEWEST && chance < 0.2;
    return isMany ? { habit: 'unrelated', confidence: 0.95, reason } : cannot(reason);
  }
  const share = flagsAtLosses / flags;
  const reason = `${lossesFlagged} of ${losses} concealed places are flagged; ${flagsAtLosses} of ${flags} flags lie at concealment that was seen`;
  // One flag in two: the chance that as many, or as few, come from a deck with the other habit.
  const many = upperTail(flagsAtLosses, flags, 0.5);
  const few = upperTail(flags - flagsAtLosses, flags, 0.5);
  if (share >= 0.7 && many < 0.05) return { habit: 'uncorrectable only', confidence: 1 - many, reason };
  if (share <= 0.3 && few < 0.05)
    return {
      habit: 'any error',
      confidence: 1 - few,
      reason: `${reason}; the others were corrected, or concealed unseen`,
    };
  return cannot(`${reason}: between the two habits`);
}

/** Stretches closer than the reach of the comparison are one place. */
function places(spans: readonly Span[], covered: Span): Span[] {
  const inside = spans.filter((span) => span.start < spanEnd(covered) && spanEnd(span) > covered.start);
  return mergeSpans(inside, 2 * NEAR_FRAMES);
}

function isNearAny(span: Span, sorted: readonly Span[]): boolean {
  const next = firstEndingAfter(sorted, span.start - NEAR_FRAMES);
  return next < sorted.length && sorted[next].start < spanEnd(span) + NEAR_FRAMES;
}

/** Share of the places where a loss of middling length could lie that would touch a flag. */
function chanceOfFlag(flags: readonly Span[], losses: readonly Span[], covered: Span): number {
  const mean = losses.reduce((sum, { length }) => sum + length, 0) / Math.max(1, losses.length);
  const reach = flags.reduce((sum, { length }) => sum + length + 2 * NEAR_FRAMES + mean, 0);
  return Math.min(1, reach / Math.max(1, covered.length));
}

/** P(at least k of n) where each has probability p. */
function upperTail(k: number, n: number, p: number): number {
  if (k <= 0) return 1;
  if (p <= 0) return 0;
  if (p >= 1) return 1;
  let sum = 0;
  let log = n * Math.log1p(-p);
  for (let i = 0; i <= n; i++) {
    if (i >= k) sum += Math.exp(log);
    log += Math.log(((n - i) * p) / ((i + 1) * (1 - p)));
  }
  return Math.min(1, sum);
}
