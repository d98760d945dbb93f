// Detector: words spread over two tracks, upper bits on one and lower bits on another (a 24-bit mix on 16-bit tracks). Says which belong together, with
// the odds by chance. Not for joining them (derive) and not for declared pairs.
import type { Block, FrameInfo, JsonObject, Span } from '../../base/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { type LowerShape, lowerShape, MovingBits } from './lower-shape.ts';
import { type UpperAnswer, UpperTest } from './upper-test.ts';

export interface SplitWordsSettings extends JsonObject {
  /** short windows in which tracks of few bits are looked for */
  readonly firstWindows: number;
  /** windows of the second look, only where such a track was found */
  readonly secondWindows: number;
  readonly fewestSamples: number;
  /** the slope must lie this many standard deviations from 0 */
  readonly leastDeviate: number;
}

export const splitWords: Detector<SplitWordsSettings> = {
  meta: {
    id: 'split-words',
    version: 1,
    label: 'Words split over two tracks',
    needs: 'at least two channels',
    settings: { firstWindows: 64, secondWindows: 200, fewestSamples: 2000, leastDeviate: 7 },
  },
  begin(info, settings, emit) {
    if (info.channels < 2) return { notApplicable: 'one channel only' };
    return new SplitWordsSession(info, settings, emit);
  },
};

const FIRST_FRAMES = 256;
const SECOND_FRAMES = 4096;

interface Pair {
  readonly upper: number;
  readonly lower: number;
  readonly shape: LowerShape;
  readonly test: UpperTest;
}

class SplitWordsSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: SplitWordsSettings;
  readonly #emit: Emit;
  readonly #moving: readonly MovingBits[];
  readonly #first: SpreadWindows;
  #pairs: readonly Pair[] = [];
  #second: SpreadLook | undefined;

  constructor(info: FrameInfo, settings: SplitWordsSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#moving = Array.from({ length: info.channels }, () => new MovingBits());
    this.#first = new SpreadWindows(info, FIRST_FRAMES, settings.firstWindows, (planes) => {
      for (const [c, plane] of planes.entries()) this.#moving[c].push(plane);
    });
  }

  push(block: Block): void {
    this.#first.push(block);
  }

  finish(): readonly Span[] | undefined {
    this.#first.finish(this.#info.frames);
    const shapes = this.#moving.map((moving) => lowerShape(moving, this.#settings.fewestSamples));
    const uppers = this.#moving.flatMap((moving, c) => (!shapes[c] && moving.nonZero > 0 ? [c] : []));
    this.#pairs = shapes.flatMap((shape, lower) =>
      shape ? uppers.map((upper) => ({ upper, lower, shape, test: new UpperTest(shape) })) : [],
    );
    if (this.#pairs.length === 0) return undefined;
    this.#second = new SpreadLook(this.#info, this.#settings.secondWindows, (planes) => this.#test(planes));
    return this.#second.spans;
  }

  look(block: Block): void {
    this.#second?.push(block);
  }

  finishLook(): void {
    for (const lower of new Set(this.#pairs.map((pair) => pair.lower))) {
      this.#say(this.#pairs.filter((pair) => pair.lower === lower));
    }
  }

  #test(planes: readonly Int32Array[]): void {
    for (const { upper, lower, test } of this.#pairs)
      test.push(planes[upper], planes[lower], this.#moving[upper].shift);
  }

  #say(pairs: readonly Pair[]): void {
    const answers = pairs.map((pair) => ({ pair, ...pair.test.answer() }));
    const best = answers.reduce((a, b) => (b.deviate < a.deviate ? b : a));
    const others = answers.filter((one) => one !== best);
    const second = Math.min(0, ...others.map(({ deviate }) => deviate));
    const isClear = -best.deviate >= this.#settings.leastDeviate && -best.deviate > 2 * -second;
    const isSlope = Math.abs(best.slope + 1) <= 0.1 + 4 * Math.abs(best.slope / best.deviate);
    const chance = Math.min(1, 2 * this.#pairs.length * normalTail(-best.deviate));
    this.#emit.verdict({
      channel: best.pair.lower + 1,
      question: 'split-word',
      answer:
        isClear && isSlope
          ? `lower ${best.pair.shape.lowerBits} bits of channel ${best.pair.upper + 1}`
          : 'cannot tell',
      confidence: isClear && isSlope ? 1 - chance : 0,
      detectionLimit: `moves in ${best.pair.shape.lowerBits} bits only; ${best.pair.test.windows} windows of ${SECOND_FRAMES} frames; bits below loud, noisy sound show only in long recordings`,
      evidence: {
        ...best.pair.shape,
        upper: best.pair.upper + 1,
        upperShift: this.#moving[best.pair.upper].shift,
        isSigned: best.isSigned,
        expectedByChance: chance,
        tests: answers.map((one) => testRow(one, this.#moving[one.pair.upper].shift)),
      },
    });
  }
}

function testRow(
  { pair, deviate, slope, isSigned }: UpperAnswer & { readonly pair: Pair },
  upperShift: number,
): JsonObject {
  const numbers = { deviate: Number(deviate.toFixed(2)), slope: Number(slope.toFixed(4)) };
  return { upper: pair.upper + 1, upperShift, isSigned, ...numbers };
}

/** P(normal deviate > z), an upper bound good to a few per cent beyond 2. */
function normalTail(z: number): number {
  return z <= 1 ? 1 : Math.exp((-z * z) / 2) / (z * Math.sqrt(2 * Math.PI));
}

/** Windows evenly spread, to be asked for in the second look and shown whole. */
class SpreadLook {
  readonly spans: readonly Span[];
  readonly #visit: (planes: readonly Int32Array[]) => void;
  readonly #held: Int32Array[];
  #filled = 0;

  constructor(info: FrameInfo, windows: number, visit: (planes: readonly Int32Array[]) => void) {
    const most = Math.max(1, Math.min(windows, Math.floor(info.frames / SECOND_FRAMES)));
    const stride = Math.max(SECOND_FRAMES, Math.floor(info.frames / most));
    this.spans = Array.from({ length: most }, (_, i) => ({ start: i * stride, length: SECOND_FRAMES })).filter(
      ({ start, length }) => start + length <= info.frames,
    );
    this.#visit = visit;
    this.#held = Array.from({ length: info.channels }, () => new Int32Array(SECOND_FRAMES));
  }

  push(block: Block): void {
    for (const { start, length } of this.spans) {
      const from = Math.max(start, block.start);
      const to = Math.min(start + length, block.start + block.frames);
      if (from >= to) continue;
      for (const [c, plane] of block.planes.entries()) {
        this.#held[c].set(plane.subarray(from - block.start, to - block.start), from - start);
      }
      this.#filled += to - from;
      if (to < start + length) return;
      if (this.#filled === length) this.#visit(this.#held);
      this.#filled = 0;
    }
  }
}
