// Captures that share no channel, joined by the timecode that each carries: "placed by timecode, to n frames", never exact. Where the codes do not
// place them, the refusal says why. Not for reading timecode.
import { joinGroups, timelineFrame } from './move-group.ts';
import type { Alignment, Placement } from './placement.ts';
import { type CodedCapture, type TimecodeOffset, type TimecodeOutcome, timecodeOffset } from './timecode-offset.ts';

const BY_TIMECODE = 'timecode';

/** The coded captures of one pass have one run of the deck's clock; of two, the deck must give its code out alike in both. */
export interface TimecodeFacts {
  /** null where the capture has no timecode */
  readonly coded: CodedCapture | null;
  readonly pass?: number | undefined;
  readonly name: string;
}

/** Groups are joined one by one, over the pair of captures with the longest common code first. `frames[i]`: length of capture i. */
export function joinTimecode(
  alignment: Alignment,
  facts: readonly TimecodeFacts[],
  frames: readonly number[],
): Alignment {
  let joined = alignment;
  for (;;) {
    const best = pairsApart(joined, facts).sort(byEvidence)[0];
    if (!best) return withRefusals(joined, facts);
    const { a, b, found } = best;
    const isOnePass = facts[a].pass !== undefined && facts[a].pass === facts[b].pass;
    joined = joinGroups(joined, [a, b], [found.atFirst, found.atFirst - found.offset], frames, {
      method: BY_TIMECODE,
      uncertaintyFrames: found.uncertaintyFrames,
      reason: (old) => reasonOf(facts[a].name, facts[b].name, found, isOnePass, old),
    });
  }
}

function byEvidence(a: Pair, b: Pair): number {
  return b.found.words - a.found.words || a.found.gapWords - b.found.gapWords;
}

interface Pair {
  readonly a: number;
  readonly b: number;
  readonly found: TimecodeOffset;
}

function pairsApart(alignment: Alignment, facts: readonly TimecodeFacts[]): Pair[] {
  return outcomes(alignment, facts).flatMap(({ a, b, outcome }) =>
    'refused' in outcome ? [] : [{ a, b, found: outcome }],
  );
}

function outcomes({ placements }: Alignment, facts: readonly TimecodeFacts[]) {
  const found: { a: number; b: number; outcome: TimecodeOutcome }[] = [];
  for (const [b, second] of facts.entries()) {
    for (const [a, first] of facts.slice(0, b).entries()) {
      if (!first.coded || !second.coded || placements[a].group === placements[b].group) continue;
      found.push({ a, b, outcome: timecodeOffset(first.coded, second.coded) });
    }
  }
  return found;
}

function reasonOf(first: string, second: string, found: TimecodeOffset, isOnePass: boolean, old: string): string {
  const { words, gapWords, offset, uncertaintyFrames, driftPpm, driftErrorPpm } = found;
  const common =
    words > 0
      ? `${words} words in common put`
      : `one code goes on ${gapWords} words behind the other, if it ran on between them, which puts`;
  const inputs = isOnePass
    ? 'if the timecode reached both recorders with the same delay'
    : 'if the timecode reached both recorders with the same delay, and lies alike against the sound in both passes';
  return (
    `placed by timecode, ± ${uncertaintyFrames} frames: ${common} ${second} ${Math.abs(offset)} frames ` +
    `${offset < 0 ? 'before' : 'after'} ${first}, ${inputs} (a converter delays by tens of frames); their clocks differ by ` +
    `${driftPpm.toFixed(3)} ± ${driftErrorPpm.toFixed(3)} ppm. No samples confirm it (${old})`
  );
}

/** What the timecodes of captures that stayed apart say is added to their reasons. */
function withRefusals(alignment: Alignment, facts: readonly TimecodeFacts[]): Alignment {
  const refusals = new Map<number, string>();
  for (const { a, b, outcome } of outcomes(alignment, facts)) {
    if ('refused' in outcome && !refusals.has(b))
      refusals.set(b, `timecode does not join it with ${facts[a].name}: ${outcome.refused}`);
  }
  if (refusals.size === 0) return alignment;
  const placements = alignment.placements.map((placement): Placement => {
    const why = refusals.get(placement.capture);
    return why ? { ...placement, reason: `${placement.reason}; ${why}` } : placement;
  });
  return { ...alignment, placements };
}

/** Sentences: captures whose samples and whose timecodes put them apart differently. */
export function timecodeContradictions(alignment: Alignment, facts: readonly TimecodeFacts[]): string[] {
  const { placements } = alignment;
  return facts.flatMap((second, b) =>
    facts.slice(0, b).flatMap((first, a) => {
      if (!first.coded || !second.coded || placements[a].group !== placements[b].group) return [];
      if (placements[a].method === BY_TIMECODE || placements[b].method === BY_TIMECODE) return [];
      const found = timecodeOffset(first.coded, second.coded);
      if ('refused' in found) return [];
      const apart = timelineFrame(placements[b], found.atSecond) - timelineFrame(placements[a], found.atFirst);
      const doubt =
        found.uncertaintyFrames +
        DELAY_FRAMES +
        (placements[a].uncertaintyFrames ?? 0) +
        (placements[b].uncertaintyFrames ?? 0);
      if (Math.abs(apart) <= doubt) return [];
      return [
        `${second.name} and ${first.name}: by their timecodes ${Math.abs(apart)} frames away from where their samples put them; the samples were followed`,
      ];
    }),
  );
}

/** Difference of two converters' delays that is nothing to tell. A choice; certainty M. */
const DELAY_FRAMES = 100;
