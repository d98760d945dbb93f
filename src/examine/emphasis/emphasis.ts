// Detector: what the sound itself says of 50/15 us emphasis. Sure only of one thing: that emphasis was taken off after the tape's words were made, for their rounding noise,
// white by nature and of known level, then falls by the law. Whether emphasis is on, no spectrum tells: recordings differ in brightness by four times what it adds (25 dB
// of spread among the 14 of the tests, 6 dB of emphasis). Never touches samples.
import { type Block, type FrameInfo, type JsonObject, rateHz } from '../../base/index.ts';
import { emphasisDb } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { FLOOR_WINDOW, type Floor, QuietFloor } from './quiet-floor.ts';

export interface EmphasisSettings extends JsonObject {
  readonly mostWindows: number;
  /** root mean square of the bands against the law, dB */
  readonly mostMisfitDb: number;
  /** the same floor without the law must miss by this much */
  readonly leastContrastDb: number;
}

export const emphasis: Detector<EmphasisSettings> = {
  meta: {
    id: 'emphasis',
    version: 1,
    label: 'Emphasis 50/15 us',
    needs: 'a rate of at least 30000 Hz',
    settings: { mostWindows: 400, mostMisfitDb: 0.7, leastContrastDb: 2 },
  },
  begin(info, settings, emit) {
    if (rateHz(info.rate) < 30_000) return { notApplicable: `a rate of ${Math.round(rateHz(info.rate))} Hz` };
    return new EmphasisSession(info, settings, emit);
  },
};

/** Words a tape may hold, and the variance of their rounding in squared steps: plain, or with triangular dither. */
const WORDS = [14, 16] as const;
const NOISES = [1 / 12, 1 / 4] as const;

class EmphasisSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: EmphasisSettings;
  readonly #emit: Emit;
  readonly #floors: readonly QuietFloor[];
  readonly #windows: SpreadWindows;

  constructor(info: FrameInfo, settings: EmphasisSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#floors = Array.from({ length: info.channels }, () => new QuietFloor(rateHz(info.rate)));
    this.#windows = new SpreadWindows(info, FLOOR_WINDOW, settings.mostWindows, (planes) => {
      if (planes[0].length < FLOOR_WINDOW) return;
      for (const [c, plane] of planes.entries()) this.#floors[c].add(plane);
    });
  }

  push(block: Block): void {
    this.#windows.push(block);
  }

  finish(): undefined {
    for (const [c, quiet] of this.#floors.entries()) {
      const brightness = quiet.brightnessDb();
      if (brightness !== undefined) this.#say(c, quiet.floor(), brightness);
    }
  }

  #say(c: number, floor: Floor | undefined, brightnessDb: number): void {
    const fit = floor && this.#fit(floor);
    this.#emit.verdict({
      channel: c + 1,
      question: 'emphasis',
      answer: fit ? (fit.times === 1 ? 'removed' : 'removed twice') : 'cannot tell',
      confidence: fit ? 0.98 : 0,
      detectionLimit:
        'that emphasis was taken off shows only where the words are longer than those of the tape and quiet moments hold nothing but their rounding; whether it is on, no spectrum tells: it adds some 6 dB to a treble that differs by 25 dB among recordings',
      evidence: {
        brightnessDb: Number(brightnessDb.toFixed(1)),
        ...(fit
          ? { tapeWord: fit.word, misfitDb: Number(fit.misfitDb.toFixed(2)), quietWindows: floor?.windows ?? 0 }
          : {}),
      },
    });
  }

  #fit(floor: Floor): { times: number; word: number; misfitDb: number } | undefined {
    let best: { times: number; word: number; misfitDb: number } | undefined;
    for (const word of WORDS) {
      if (word >= this.#info.bits) continue;
      const step = 2 ** (this.#info.bits - word);
      for (const noise of NOISES) {
        const variance = noise * step * step;
        const plain = misfit(floor, variance, 0);
        for (const times of [1, 2]) {
          const misfitDb = misfit(floor, variance, times);
          const isClear = misfitDb <= this.#settings.mostMisfitDb && plain >= this.#settings.leastContrastDb;
          if (isClear && (!best || misfitDb < best.misfitDb)) best = { times, word, misfitDb };
        }
      }
    }
    return best;
  }
}

/** Root mean square of the bands against white noise from which emphasis was taken `times` times, dB. No free gain: the level is the word's. */
function misfit({ hz, variance }: Floor, white: number, times: number): number {
  const off = variance.map((one, b) => 10 * Math.log10((one + 1e-12) / white) + times * emphasisDb(hz[b]));
  return Math.sqrt(off.reduce((sum, one) => sum + one * one, 0) / off.length);
}
