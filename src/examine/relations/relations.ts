// Detector: channels of one file that are the same or each other's inverse. Swapped channels show only against another
// capture: that is align/. Pairs are dropped as soon as they clearly differ, so unrelated channels cost nothing.
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';

export interface RelationsSettings extends JsonObject {
  /** share of sounding frames that must agree */
  readonly equalShare: number;
  readonly fewestFrames: number;
}

export const relations: Detector<RelationsSettings> = {
  meta: {
    id: 'relations',
    version: 1,
    label: 'Relations between channels',
    needs: 'at least two channels',
    settings: { equalShare: 0.999, fewestFrames: 1000 },
  },
  begin(info, settings, emit) {
    if (info.channels < 2) return { notApplicable: 'one channel only' };
    return new RelationsSession(info, settings, emit);
  },
};

/** Counts are over frames where at least one of the two channels is not zero. */
interface Pair {
  readonly a: number;
  readonly b: number;
  sounding: number;
  equal: number;
  inverse: number;
}

/** Pairs are judged at these frame counts, so that the outcome does not depend on block size. */
const CHECK_EVERY = 16_384;

class RelationsSession implements DetectorSession {
  readonly #settings: RelationsSettings;
  readonly #emit: Emit;
  #pairs: Pair[] = [];

  constructor(info: FrameInfo, settings: RelationsSettings, emit: Emit) {
    this.#settings = settings;
    this.#emit = emit;
    for (let a = 0; a < info.channels; a++) {
      for (let b = a + 1; b < info.channels; b++) this.#pairs.push({ a, b, sounding: 0, equal: 0, inverse: 0 });
    }
  }

  push(block: Block): void {
    for (let at = 0; at < block.frames; ) {
      const toCheck = CHECK_EVERY - ((block.start + at) % CHECK_EVERY);
      const end = Math.min(block.frames, at + toCheck);
      for (const pair of this.#pairs) countPair(pair, block.planes[pair.a], block.planes[pair.b], at, end);
      if ((block.start + end) % CHECK_EVERY === 0) {
        this.#pairs = this.#pairs.filter((p) => p.sounding < CHECK_EVERY || related(p) > 0.5);
      }
      at = end;
    }
  }

  finish(): undefined {
    for (const pair of this.#pairs) {
      const { sounding, equal, inverse } = pair;
      if (sounding < this.#settings.fewestFrames) continue;
      const share = Math.max(equal, inverse) / sounding;
      if (share < this.#settings.equalShare) continue;
      const word = equal >= inverse ? 'identical to' : 'inverse of';
      this.#emit.verdict({
        channel: pair.b + 1,
        question: 'relation',
        answer: `${word} channel ${pair.a + 1}`,
        confidence: 0.999,
        detectionLimit: `${sounding} sounding frames compared; at least ${this.#settings.equalShare * 100} % must agree`,
        evidence: { with: pair.a + 1, soundingFrames: sounding, equalFrames: equal, inverseFrames: inverse },
      });
    }
  }
}

function related(pair: Pair): number {
  return Math.max(pair.equal, pair.inverse) / Math.max(1, pair.sounding);
}

function countPair(pair: Pair, x: Int32Array, y: Int32Array, from: number, to: number): void {
  let { sounding, equal, inverse } = pair;
  for (let i = from; i < to; i++) {
    const a = x[i];
    const b = y[i];
    if ((a | b) === 0) continue;
    sounding++;
    if (a === b) equal++;
    // Bitwise inversion differs from negation by one: both are found in the field.
    if (a === -b || a === ~b) inverse++;
  }
  pair.sounding = sounding;
  pair.equal = equal;
  pair.inverse = inverse;
}
