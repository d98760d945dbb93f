// Detector: what the lowest bits are made of: dither of a triangular spread, no dither at all, noise laid over a shorter word, a rounding
// toward zero. Answers only where the samples decide; whether a word was truncated downwards or rounded differs by half a step of DC,
// which every converter's offset hides, so that is never answered. Not for word length.
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import { StepCounter } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { HiddenWord } from './hidden-word.ts';
import { QuietPassages } from './quiet-passages.ts';
import { ZeroLevel } from './zero-level.ts';

export interface TruncationSettings extends JsonObject {
  readonly mostWindows: number;
  /** of them those whose every sample is asked about a shorter word: it costs the most, and shows in all that are loud */
  readonly mostPhaseWindows: number;
  /** chance beyond which an answer is given */
  readonly chance: number;
}

export const truncation: Detector<TruncationSettings> = {
  meta: {
    id: 'truncation',
    version: 2,
    label: 'Low bits: dither and rounding',
    needs: 'a word of at least 8 bits',
    settings: { mostWindows: 1024, mostPhaseWindows: 64, chance: 1e-6 },
  },
  begin(info, settings, emit) {
    if (info.bits < 8) return { notApplicable: `a word of ${info.bits} bits` };
    return new TruncationSession(info, settings, emit);
  },
};

const WINDOW = 512;

interface Channel {
  readonly steps: StepCounter;
  readonly hidden: HiddenWord;
  /** both at the step that the word has as far as is known; begun anew when a finer one shows */
  quiet: QuietPassages;
  zero: ZeroLevel;
}

class TruncationSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: TruncationSettings;
  readonly #emit: Emit;
  readonly #channels: readonly Channel[];
  readonly #windows: SpreadWindows;
  /** every how many windows all samples are asked; even */
  readonly #phaseStride: number;

  constructor(info: FrameInfo, settings: TruncationSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#channels = Array.from({ length: info.channels }, () => ({
      steps: new StepCounter(),
      hidden: new HiddenWord(info.bits),
      quiet: new QuietPassages(0),
      zero: new ZeroLevel(0),
    }));
    this.#windows = new SpreadWindows(info, WINDOW, settings.mostWindows, (planes, start) => {
      const window = start / WINDOW / this.#windows.stride;
      for (let c = 0; c < planes.length; c++) pushWindow(this.#channels[c], planes[c], this.#phasesOf(window));
    });
    const windows = info.frames / WINDOW / this.#windows.stride;
    this.#phaseStride = 2 * Math.max(1, Math.ceil(windows / settings.mostPhaseWindows / 2));
  }

  #phasesOf(window: number): Phases {
    return window % 2 !== 0 ? 'none' : window % this.#phaseStride === 0 ? 'all' : 'near zero';
  }

  push(block: Block): void {
    this.#windows.push(block);
  }

  finish(): undefined {
    this.#windows.finish(this.#info.frames);
    for (const [c, channel] of this.#channels.entries()) {
      if (channel.steps.samples > 0) {
        this.#sayDither(c, channel);
        this.#sayRounding(c, channel);
      }
    }
  }

  #sayDither(c: number, { steps, hidden, quiet }: Channel): void {
    const found = hidden.answer(steps.stepExponent(STEP_SHARE));
    const passages = quiet.answer();
    const isHidden = found !== undefined && found.chance < this.#settings.chance;
    const isQuiet = passages.answer !== undefined && passages.chance < this.#settings.chance;
    const chance = isHidden ? found.chance : isQuiet ? passages.chance : 1;
    this.#emit.verdict({
      channel: c + 1,
      question: 'dither',
      answer: isHidden ? `noise over ${found.wordBits}-bit words` : isQuiet ? passages.answer : 'cannot tell',
      confidence: chance < 1 ? 1 - chance : 0,
      detectionLimit:
        'dither shows in passages that hold nothing else; under sound, or when as wide as the sound\'s own noise, it does not. "none" excludes triangular dither of two steps or more, not less',
      evidence: {
        noiseSteps: isHidden ? found.noiseSteps : null,
        hiddenWordBits: isHidden ? found.wordBits : null,
        quietWindows: passages.windows,
        restingRuns: passages.restingRuns,
        spread: [...passages.spread],
      },
    });
  }

  #sayRounding(c: number, { zero }: Channel): void {
    const found = zero.answer();
    const isAnswer = found.chance < this.#settings.chance;
    this.#emit.verdict({
      channel: c + 1,
      question: 'rounding',
      answer: isAnswer ? 'toward zero' : 'cannot tell',
      confidence: isAnswer ? 1 - found.chance : 0,
      detectionLimit:
        'a step at zero twice as wide as the others gives away rounding toward zero (or a code of sign and magnitude); rounding to nearest and cutting off downwards differ only by half a step of DC',
      evidence: {
        samplesAtZero: found.atZero,
        expectedAtZero: found.expected,
        zeroRatio: found.ratio,
      },
    });
  }
}

/** one stray sample in a thousand does not make a finer step */
const STEP_SHARE = 0.999;

/** Which samples of a window are asked about a shorter word. */
type Phases = 'none' | 'near zero' | 'all';

function pushWindow(channel: Channel, plane: Int32Array, phases: Phases): void {
  const facts = channel.steps.pushWindow(plane);
  const step = channel.steps.stepExponent(STEP_SHARE);
  if (step !== channel.quiet.shift) {
    channel.quiet = new QuietPassages(step);
    channel.zero = new ZeroLevel(step);
  }
  if (phases !== 'none') channel.hidden.push(plane, Math.max(facts.max, -facts.min), phases === 'all');
  channel.quiet.push(plane, facts);
  channel.zero.push(plane, facts);
}
