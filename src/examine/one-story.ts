// One story per place: where two kinds of loss claim the same samples of a channel, the one less likely by chance stays. A
// flat interpolated line looks held, a held stretch on a slope looks interpolated; both are said once. The edges of a loss break
// off: a click or a discontinuity there is the loss, not a fault of its own.
import { spanEnd } from '../base/index.ts';
import { type Finding, isLoss, type Verdict } from './finding.ts';

/** Findings in any order. A weaker loss goes when a stronger one covers at least half of it. */
export function oneStory(findings: readonly Finding[]): Finding[] {
  const dropped = new Set<Finding>();
  for (const own of byChannel(findings.filter(isLoss)).values()) {
    own.sort((a, b) => a.start - b.start);
    for (const [i, finding] of own.entries()) {
      for (let k = i + 1; k < own.length && own[k].start < spanEnd(finding); k++) {
        const weaker = strength(own[k]) < strength(finding) ? own[k] : finding;
        const common = Math.min(spanEnd(finding), spanEnd(own[k])) - own[k].start;
        if (2 * common >= weaker.length) dropped.add(weaker);
      }
    }
  }
  const losses = byChannel(findings.filter((finding) => isLoss(finding) && !dropped.has(finding)));
  return findings.filter((finding) => !dropped.has(finding) && !isEdgeOfLoss(finding, losses));
}

/** Where two detectors answer one question about a channel (whether it is sound), the surer one is heard, in the place of the first. */
export function oneAnswer(verdicts: readonly Verdict[]): Verdict[] {
  const answers = new Map<string, Verdict>();
  for (const verdict of verdicts) {
    const key = `${verdict.channel} ${verdict.question}`;
    const other = answers.get(key);
    if (!other || verdict.confidence > other.confidence) answers.set(key, verdict);
  }
  return [...answers.values()];
}

/** Frames around either end of a loss in which a break belongs to it. */
const EDGE_FRAMES = 8;
const BREAKS: readonly string[] = ['click', 'discontinuity'];
/** No sample is there, so nothing else can be seen: what the detectors found was put there for them. So it is with a line between equal
 * codes (`isFlat`): by itself it looks held, and is only told where the deck drew lines elsewhere. */
const SAID_BY_CARRIER: readonly string[] = ['error-code', 'missing-data'];

function isEdgeOfLoss(
  { kind, channels, start, length }: Finding,
  losses: ReadonlyMap<number, readonly Finding[]>,
): boolean {
  if (!BREAKS.includes(kind)) return false;
  return channels.some((channel) =>
    losses
      .get(channel)
      ?.some((loss) =>
        [loss.start, spanEnd(loss)].some((edge) => start - EDGE_FRAMES <= edge && edge <= start + length + EDGE_FRAMES),
      ),
  );
}

function byChannel(findings: readonly Finding[]): Map<number, Finding[]> {
  const channels = new Map<number, Finding[]>();
  for (const finding of findings) {
    for (const channel of finding.channels) {
      const own = channels.get(channel) ?? [];
      own.push(finding);
      channels.set(channel, own);
    }
  }
  return channels;
}

/** Minus the logarithm of the chance; where that is beyond a number, the samples replaced decide. */
function strength({ kind, detail, expectedByChance, measured }: Finding): number {
  if (SAID_BY_CARRIER.includes(kind) || detail.isFlat === true) return Number.POSITIVE_INFINITY;
  if (typeof detail.log10Chance === 'number') return -detail.log10Chance;
  if (expectedByChance > 0) return -Math.log10(expectedByChance);
  return 300 + (typeof measured === 'number' ? measured : 0);
}
