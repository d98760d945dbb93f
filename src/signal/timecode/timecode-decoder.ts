// Every linear timecode word in one channel, at whatever speed and either way: the signal is looked at in steps of half a sample, one, two, four
// ... and each step takes the speeds that suit it. Not for what the words say together (sections.ts).
import { EdgeFinder } from './edge-finder.ts';
import { HalfStep } from './half-step.ts';
import { type FoundWord, WordFinder } from './word-finder.ts';
import { WordList } from './word-list.ts';

/** Half a bit in samples of a step: at least 2.5, so that zeros and ones are apart, and up to past the 2.5 of the next step. */
const SHORTEST = 2.4;
const LONGEST = 7.2;
/** At the finest step, of half a sample: half a bit of 1.2 samples of the recording, a tone of 0.83 of the limit. */
const FINEST_SHORTEST = 2.2;
/** Samples in which a bit of 24 frames a second lasts at a tenth of its speed. */
const LONGEST_HALF_SECONDS = 0.5 / (0.1 * 24 * 80);

const PART = 8192;

interface Step {
  /** samples of the recording in a sample of this step */
  readonly scale: number;
  readonly edges: EdgeFinder;
  readonly words: WordFinder;
  readonly list: WordList;
  readonly held: Float64Array;
  /** a sample that waits for its second */
  spare: number;
  hasSpare: boolean;
}

/** State with a life: push the samples of one channel in order, finish once. Positions count from the first sample pushed. */
export class TimecodeDecoder {
  readonly #steps: Step[] = [];
  readonly #half = new HalfStep();
  readonly #part = new Float64Array(PART);

  constructor(rateHz: number) {
    const add = (scale: number, delay: number, isSmoothed: boolean, shortest: number) => {
      const list = new WordList();
      // Sample j of a step stands for the middle of its samples; a level that begins with sample k changed half a sample before it.
      const toFrame = (at: number) => (at - delay) * scale + (scale - 1) / 2 + 0.5;
      const words = new WordFinder(shortest, LONGEST, (word) => list.add(inFrames(word, toFrame)));
      const edges = new EdgeFinder({ hysteresis: isSmoothed ? 0.25 : 0.1, isSmoothed }, (at) => words.push(at));
      this.#steps.push({ scale, edges, words, list, held: new Float64Array(PART), spare: 0, hasSpare: false });
    };
    // At half a sample the middle of a sample is its beginning, hence a quarter of a frame (half of this step) less.
    add(0.5, HalfStep.leadSamples - 0.5, false, FINEST_SHORTEST);
    for (let scale = 1; SHORTEST * scale < LONGEST_HALF_SECONDS * rateHz; scale *= 2) add(scale, 0, true, SHORTEST);
  }

  push(plane: Int32Array): void {
    for (let at = 0; at < plane.length; at += PART) {
      const part = plane.subarray(at, at + PART);
      this.#part.set(part);
      this.#pushPart(part.length);
    }
  }

  /** Words found by now; those of neighbouring steps count twice. */
  get wordsSoFar(): number {
    return this.#steps.reduce((sum, { list }) => sum + list.length, 0);
  }

  /** Words in order of time, each once. */
  finish(): WordList {
    const silence = new Float64Array(PART);
    this.#part.set(silence);
    this.#pushPart(2 * HalfStep.leadSamples);
    for (const { words } of this.#steps) words.finish();
    return mergeWords(this.#steps.map(({ list }) => list));
  }

  #pushPart(length: number): void {
    const [finest, ...others] = this.#steps;
    finest.edges.push(this.#half.push(this.#part, length), 2 * length);
    let samples: Float64Array = this.#part;
    let count = length;
    for (const step of others) {
      if (step.scale > 1) {
        count = halve(step, samples, count);
        samples = step.held;
      }
      step.edges.push(samples, count);
    }
  }
}

/** Means of two into `step.held`; the number of them. */
function halve(step: Step, samples: Float64Array, count: number): number {
  const { held } = step;
  let out = 0;
  let i = 0;
  if (step.hasSpare && count > 0) held[out++] = (step.spare + samples[i++]) / 2;
  for (; i + 1 < count; i += 2) held[out++] = (samples[i] + samples[i + 1]) / 2;
  if (count > 0) step.hasSpare = i < count;
  if (step.hasSpare && i < count) step.spare = samples[i];
  return out;
}

function inFrames(word: FoundWord, toFrame: (at: number) => number): FoundWord {
  return { ...word, start: toFrame(word.start), end: toFrame(word.end) };
}

/** Neighbouring steps find the same words: of two that overlap the one with the steadier edges stays. */
function mergeWords(lists: readonly WordList[]): WordList {
  const all = new WordList();
  for (const list of lists) for (let i = 0; i < list.length; i++) all.add(list.at(i));
  const merged = new WordList();
  let last: FoundWord | undefined;
  for (const i of all.inOrder()) {
    const word = all.at(i);
    if (last && word.start < last.start + 0.5 * (last.end - last.start)) {
      if (word.jitter < last.jitter) last = word;
      continue;
    }
    if (last) merged.add(last);
    last = word;
  }
  if (last) merged.add(last);
  return merged;
}
