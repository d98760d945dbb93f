// The labelled grid of word lengths and laws (for tests and `npm run score:words`): what is done to a 16-bit recording one sample
// at a time, and what the detectors must then say, or "cannot tell". Not for damage, dither or noise.
import type { SegmentLaw } from '../../base/index.ts';
import { codeBook, compressTable, expandTable } from '../../signal/index.ts';
import { eightMm, nonlinear12, withMidStep } from '../../tape/index.ts';
import type { Verdict } from '../finding.ts';

export interface WordCase {
  /** row of the table of scores */
  readonly group: string;
  readonly name: string;
  readonly container: number;
  /** One sample of 16 bits and its frame; the outcome lies in the container. */
  readonly alter: (x: number, frame: number) => number;
  readonly truth: WordTruth;
}

export interface WordTruth {
  readonly wordLength: number;
  /** id of the law, or "linear" */
  readonly codeBook: string;
  /** what was multiplied after the word was made; powers of two are no gain */
  readonly gain: number;
}

export type Outcome = 'right' | 'cannot tell' | 'wrong';

const CONTAINERS = [16, 24, 32];

export function linearCases(words: readonly number[] = [8, 10, 12, 14, 15, 16, 20, 24]): WordCase[] {
  return words.flatMap((word) =>
    CONTAINERS.filter((container) => container >= word).map((container): WordCase => {
      const alter = (x: number, frame: number) => wordOf(x, frame, word) * 2 ** (container - word);
      const truth = { wordLength: word, codeBook: 'linear', gain: 1 };
      return {
        group: word <= 16 ? 'linear, to 16 bits' : 'linear, 20 and 24 bits',
        name: `${word} bits in ${container}`,
        container,
        alter,
        truth,
      };
    }),
  );
}

/** A gain that rounds to the container's step after the word was made. */
export function scaledCases(gain: number): WordCase[] {
  const cases = [...linearCases([12, 16]), ...lawCases([nonlinear12, eightMm()])];
  return cases.map((one) => {
    const alter = (x: number, frame: number) => Math.round(one.alter(x, frame) * gain);
    const truth = { wordLength: one.container, codeBook: 'linear', gain };
    return {
      ...one,
      group: one.truth.codeBook === 'linear' ? 'linear, gain after' : 'law, gain after',
      name: `${one.name}, times ${gain}`,
      alter,
      truth,
    };
  });
}

export const GRID_LAWS: readonly SegmentLaw[] = [
  nonlinear12,
  withMidStep(nonlinear12),
  eightMm(),
  eightMm({ breaks: [32, 64, 256] }),
  eightMm({ mirror: 'sign-magnitude' }),
  withMidStep(eightMm()),
];

export function lawCases(laws: readonly SegmentLaw[] = GRID_LAWS): WordCase[] {
  return laws.flatMap((law) => {
    const [compress, expand] = [compressTable(law), expandTable(law)];
    const dropped = 16 - law.linearBits;
    const low = codeBook(law).reduce((bits, value) => bits | value, 0);
    const wordLength = law.linearBits - (31 - Math.clz32(low & -low));
    return CONTAINERS.map((container): WordCase => {
      const alter = (x: number) =>
        expand[compress[(x >> dropped) & (compress.length - 1)]] * 2 ** (container - law.linearBits);
      const truth = { wordLength, codeBook: law.id, gain: 1 };
      return {
        group: law.linearBits === 10 ? '8 mm laws' : '12-bit laws',
        name: `${law.id} in ${container}`,
        container,
        alter,
        truth,
      };
    });
  });
}

/** The upper bits of the recording; bits below its sixteenth come from the frame number, spread evenly. */
function wordOf(x: number, frame: number, word: number): number {
  if (word <= 16) return x >> (16 - word);
  const spread = Math.imul(frame, 0x9e37_79b1) ^ (frame >>> 7);
  return x * 2 ** (word - 16) + (Math.imul(spread ^ (spread >>> 15), 0x2c1b_3c6d) >>> (48 - word));
}

/** By question. A law under a gain has no comb of one gain alone, so `gain-lattice` is not asked there. */
export function outcomesOf({ truth, group }: WordCase, verdicts: readonly Verdict[]): Map<string, Outcome> {
  const outcomes = new Map<string, Outcome>();
  for (const { question, answer } of verdicts) {
    const isRight = rightness(question, answer, truth, group);
    if (isRight !== undefined) outcomes.set(question, answer === 'cannot tell' ? answer : isRight ? 'right' : 'wrong');
  }
  return outcomes;
}

function rightness(question: string, answer: Verdict['answer'], truth: WordTruth, group: string): boolean | undefined {
  if (question === 'word-length') return truth.gain === 1 ? answer === truth.wordLength : undefined;
  if (question === 'code-book') return answer === truth.codeBook;
  if (question !== 'gain-lattice' || group === 'law, gain after') return undefined;
  if (truth.gain === 1) return answer === 'none';
  const octaves = Math.log2(Number(answer) / truth.gain);
  return Math.abs(octaves - Math.round(octaves)) < 1e-3;
}
