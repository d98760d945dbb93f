// One story per place: where two kinds of loss claim the same samples of a channel, the one less likely by chance stays. A
// flat interpolated line looks held, a held stretch on a slope looks interpolated; both are said once. The edges of a loss break
// off: a click or a discontinuity there is the loss, not a fault of its own.
import { spanEnd } from '../base/index.ts';
import { type Finding, isLoss, type Verdict } from './finding.ts';

/** Findings in any order. A weaker loss goes when a stronger one covers at least half of it; so does one that is weaker than all parts
 * together in which the other kind is told there, as each of them would be a chance of its own. */
export function oneStory(findings: readonly Finding[]): Finding[] {
  const dropped = new Set<Finding>();
  for (const own of byChannel(findings.filter(isLoss)).values()) {
    const pairs = overlapping(own);
    const told = new Told(pairs);
    for (const [first, second] of pairs) {
      const [one, other] = [told.of(first, second), told.of(second, first)];
      const isSecondWeaker = other.strength < one.strength;
      const [weaker, covered] = isSecondWeaker ? [second, one.frames] : [first, other.frames];
      if (2 * covered >= weaker.length) dropped.add(weaker);
    }
  }
  const losses = byChannel(findings.filter((finding) => isLoss(finding) && !dropped.has(finding)));
  return findings.filter((finding) => !dropped.has(finding) && !isEdgeOfLoss(finding, losses));
}

function overlapping(findings: readonly Finding[]): (readonly [Finding, Finding])[] {
  const ordered = [...findings].sort((a, b) => a.start - b.start);
  return ordered.flatMap((first, i) => {
    let end = i + 1;
    while (end < ordered.length && ordered[end].start < spanEnd(first)) end++;
    return ordered.slice(i + 1, end).map((second) => [first, second] as const);
  });
}

/** What speaks for a story within a finding, and how many frames of that finding it covers. */
interface Story {
  readonly strength: number;
  readonly frames: number;
}

/** The stories of other kinds within each finding: of each kind all findings together that lie in it with at least their half. */
class Told {
  readonly #within = new Map<Finding, Map<string, Story>>();

  constructor(pairs: readonly (readonly [Finding, Finding])[]) {
    for (const [first, second] of pairs) {
      if (isPart(first, second)) this.#add(first, second);
      if (isPart(second, first)) this.#add(second, first);
    }
  }

  /** That which `one` belongs to. */
  of(one: Finding, other: Finding): Story {
    const whole = isPart(one, other) ? this.#within.get(other)?.get(one.kind) : undefined;
    return whole ?? { strength: strength(one), frames: commonFrames(one, other) };
  }

  #add(part: Finding, whole: Finding): void {
    const stories = this.#within.get(whole) ?? new Map<string, Story>();
    const before = stories.get(part.kind) ?? { strength: 0, frames: 0 };
    const frames = before.frames + commonFrames(part, whole);
    stories.set(part.kind, { strength: before.strength + strength(part), frames });
    this.#within.set(whole, stories);
  }
}

function isPart(one: Finding, whole: Finding): boolean {
  return one.kind !== whole.kind && 2 * commonFrames(one, whole) >= one.length;
}

function commonFrames(a: Finding, b: Finding): number {
  return Math.min(spanEnd(a), spanEnd(b)) - Math.max(a.start, b.start);
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
