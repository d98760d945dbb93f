// Of explanations of the same samples the one that is least likely by chance. Not for different kinds of loss (one-story.ts).
import { type Span, spanEnd } from '../../base/index.ts';

/** What overlaps with none that is less likely, in the order of places. `logChance`: logarithm of the chance. */
export function leastLikely<T extends Span>(judged: readonly T[], logChance: (one: T) => number): T[] {
  const kept: T[] = [];
  let cluster: T[] = [];
  let clusterEnd = -1;
  const settle = () => {
    const winners: T[] = [];
    for (const one of cluster.sort((a, b) => logChance(a) - logChance(b))) {
      if (winners.every((other) => spanEnd(other) <= one.start || spanEnd(one) <= other.start)) winners.push(one);
    }
    kept.push(...winners.sort((a, b) => a.start - b.start));
    cluster = [];
  };
  for (const one of [...judged].sort((a, b) => a.start - b.start)) {
    if (one.start >= clusterEnd) settle();
    cluster.push(one);
    clusterEnd = Math.max(clusterEnd, spanEnd(one));
  }
  settle();
  return kept;
}
