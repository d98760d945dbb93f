// The changes that an exact law amounts to: polarity, gain, a shorter word, an offset, clipping, and the samples that do not obey. Not for finding the law.
import { db } from '../../analyse/measured.ts';
import type { ExactLaw } from './exact-law.ts';
import type { ChainChange } from './finding.ts';
import type { PairSource } from './pairs.ts';

export function lawChanges(from: PairSource, law: ExactLaw): ChainChange[] {
  const full = 2 ** (from.capture.info.bits - 1);
  const word = from.capture.info.bits - Math.log2(law.step);
  const { offset, clipped } = law;
  const changes: ChainChange[] = law.isTurned ? [{ kind: 'polarity' }] : [];
  if (law.ratio.low > 1 || law.ratio.high < 1) changes.push(gainOf(law));
  if (word < from.signal.bits) {
    changes.push({ kind: 'truncation', bits: word, of: from.signal.bits, how: law.shortening });
  }
  if (offset !== 0) {
    changes.push({ kind: 'dc', basis: 'proof', steps: offset, uncertainty: 0, db: db(Math.abs(offset) / full) });
  }
  if (clipped > 0) {
    const [lowDb, highDb] = [-law.least, law.most].map((end) => db(Math.max(1, end) / full));
    changes.push({ kind: 'clip', lowDb, highDb, samples: clipped });
  }
  return changes;
}

export function errorsOf(law: ExactLaw): ChainChange {
  return { kind: 'errors', spans: law.misses, frames: law.missedFrames, stillFrames: law.stillFrames };
}

function gainOf({ ratio: { value, low, high }, fraction }: ExactLaw): ChainChange {
  return { kind: 'gain', basis: 'proof', ratio: value, low, high, db: db(value), ...(fraction ? { fraction } : {}) };
}
