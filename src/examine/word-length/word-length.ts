// Detector: how many bits the samples really use, counted from the top of the container down to the lowest bit that moves.
// And bits that are stuck in between, when there are any. Not for companding (code-book) nor for what a header claims (media).
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import { statisticsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { stuckBits, ValueMarks } from './stuck-bits.ts';

export interface WordLengthSettings extends JsonObject {
  /** share of samples that may lie off the step without changing the answer (they are counted in the evidence) */
  readonly strayShare: number;
  /** fewest non-zero samples for an answer */
  readonly fewestSamples: number;
  /** log2 of the chance beyond which a bit that never moves is called stuck */
  readonly stuckLog2Chance: number;
}

export const wordLength: Detector<WordLengthSettings> = {
  meta: {
    id: 'word-length',
    version: 2,
    label: 'Word length',
    needs: 'samples that are not all zero',
    settings: { strayShare: 0.001, fewestSamples: 64, stuckLog2Chance: -24 },
  },
  begin: (info, settings, emit) => new WordLengthSession(info, settings, emit),
};

class WordLengthSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: WordLengthSettings;
  readonly #emit: Emit;
  readonly #counters: StepCounter[];
  readonly #marks: ValueMarks[];
  readonly #windows: SpreadWindows;

  constructor(info: FrameInfo, settings: WordLengthSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#counters = Array.from({ length: info.channels }, () => new StepCounter());
    this.#marks = Array.from({ length: info.channels }, () => new ValueMarks(info.bits));
    this.#windows = new SpreadWindows(info, 4096, 256, (planes) => {
      for (let c = 0; c < planes.length; c++) this.#marks[c].push(planes[c]);
    });
  }

  push(block: Block): void {
    const statistics = statisticsOf(block);
    for (let c = 0; c < this.#counters.length; c++) this.#counters[c].add(statistics[c]);
    this.#windows.push(block);
  }

  finish(): undefined {
    this.#windows.finish(this.#info.frames);
    for (const [c, counter] of this.#counters.entries()) {
      this.#answer(c, counter);
      this.#sayStuck(c, counter);
    }
  }

  /** Said only where a bit is stuck: each different value of the bits above it would set a sound bit one way or the other. */
  #sayStuck(c: number, counter: StepCounter): void {
    const { bits } = this.#info;
    const judged = stuckBits(counter, bits).map((one) => ({
      ...one,
      log2Chance: this.#marks[c].log2Chance(one.bit),
    }));
    const stuck = judged.filter(({ log2Chance }) => log2Chance <= this.#settings.stuckLog2Chance);
    if (stuck.length === 0) return;
    this.#emit.verdict({
      channel: c + 1,
      question: 'stuck-bits',
      answer: stuck.map(({ bit, value }) => `bit ${bit} at ${value}`).join(', '),
      confidence: 1 - bits * 2 ** Math.max(...stuck.map(({ log2Chance }) => log2Chance)),
      detectionLimit:
        'bit 0 is the lowest of the container; the lowest bit that is used and the sign cannot be judged so',
      evidence: { stuck, samples: counter.samples },
    });
  }

  #answer(c: number, counter: StepCounter): void {
    const { bits } = this.#info;
    const nonZero = counter.samples - counter.zeros;
    const movingMask = counter.or & ~counter.and & (bits === 32 ? -1 : 2 ** bits - 1);
    const stuckAtOne = stuckOnes(counter, bits);
    const exponent = counter.stepExponent(1 - this.#settings.strayShare);
    // A bit that is stuck at one below the lowest moving bit is padding, not resolution.
    const lowestMoving = movingMask === 0 ? bits : 31 - Math.clz32(movingMask & -movingMask);
    const padded = Math.max(exponent, exponent === 0 && stuckAtOne.includes(0) ? lowestMoving : exponent);
    const canTell = nonZero >= this.#settings.fewestSamples && movingMask !== 0;
    // Linear samples with one bit more would lie off the step half of the time.
    const doubt = canTell ? 2 ** -Math.min(1000, nonZero / 64) : 1;
    this.#emit.verdict({
      channel: c + 1,
      question: 'word-length',
      answer: canTell ? bits - padded : 'cannot tell',
      confidence: canTell ? 1 - doubt : 0,
      detectionLimit: canTell
        ? `${nonZero} non-zero samples were looked at; a finer bit that moves in fewer than ${this.#settings.strayShare * 100} % of them counts as stray`
        : `needs at least ${this.#settings.fewestSamples} non-zero samples that differ; found ${nonZero}`,
      evidence: {
        containerBits: bits,
        nonZeroSamples: nonZero,
        movingBits: (movingMask >>> 0).toString(2).padStart(bits, '0'),
        stuckAtOne,
        straySamples: straysBelow(counter, padded),
        padding: padded === 0 ? 'none' : stuckAtOne.length ? 'bits stuck at one' : 'zeros',
      },
    });
  }
}

/** Bit numbers (0 = lowest) that are one in every sample, the sign left out. */
function stuckOnes(counter: StepCounter, bits: number): number[] {
  if (counter.samples === 0) return [];
  return Array.from({ length: bits - 1 }, (_, bit) => bit).filter((bit) => (counter.and >>> bit) & 1);
}

function straysBelow(counter: StepCounter, exponent: number): number {
  let count = 0;
  for (let k = 0; k < exponent; k++) count += counter.trailingZeros[k];
  return count;
}
