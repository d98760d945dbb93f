// What the sample values themselves say: a code book only a law can make, or low bits nobody used. Only a digital path keeps them.
// Not for noise (noise-fit.ts).
import type { FrameSource, SegmentLaw, StopSignal } from '../../base/index.ts';
import { CodeSetSession, compareLaws, unusedLowBits } from '../../signal/index.ts';
import type { Placement } from '../locate/placement.ts';
import { lawClassId, type WordClass } from './hypotheses.ts';

export interface ValueEvidence {
  /** classes of laws whose code book the samples keep to, best first; empty where none */
  readonly laws: readonly string[];
  /** bits of the linear word that all samples fit, at most the file's */
  readonly wordBits: number;
  /** distinct values met; null where there were too many to keep */
  readonly values: number | null;
}

export async function valueEvidence(
  source: FrameSource,
  place: Placement,
  channel: number,
  classes: readonly WordClass[],
  stop?: StopSignal,
): Promise<ValueEvidence> {
  const { bits } = source.info;
  const session = new CodeSetSession(bits);
  const start = Math.max(0, Math.round(place.frameOf(0)));
  const end = Math.round(place.frameOf(place.plan.seconds));
  let used = 0;
  for await (const block of source.blocks({ start, stop })) {
    const count = Math.min(block.frames, end - block.start);
    if (count <= 0) break;
    const plane = block.planes[channel].subarray(0, count);
    session.push(plane);
    for (const x of plane) used |= x;
  }
  const set = session.finish();
  const wordBits = used === 0 ? 0 : bits - (31 - Math.clz32(used & -used));
  if (!set) return { laws: [], wordBits, values: null };
  return {
    laws: lawsIn(set, bits, classes),
    wordBits: bits - Math.min(bits, unusedLowBits(set.values)),
    values: set.values.length,
  };
}

function lawsIn(set: Parameters<typeof compareLaws>[0], bits: number, classes: readonly WordClass[]): string[] {
  const laws = classes.flatMap((word) => word.laws);
  const widths = [...new Set(laws.map((law) => law.linearBits))].filter((width) => width <= bits);
  for (const width of widths) {
    const family: SegmentLaw[] = laws.filter((law) => law.linearBits === width);
    const compared = compareLaws(set, family, bits - width);
    if (compared.verdict === 'law') return [...new Set(compared.remaining.map((one) => classId(one.law, classes)))];
  }
  return [];
}

function classId(law: SegmentLaw, classes: readonly WordClass[]): string {
  return classes.find((word) => word.laws.some((one) => one.id === law.id))?.id ?? lawClassId(law.id);
}
