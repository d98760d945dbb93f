// Detector: whether a channel holds sound at all, or data played as sound: bursts of coded audio with their sync words, compressed files
// and other evenly spread bits, raw bytes. The dangerous error is to call data sound (it reaches ears at full level), so what is neither
// plainly sound nor plainly data is "cannot tell". Not for telling which data, nor for time code (a sound of its own).
import type { Block, FrameInfo, JsonObject } from '../../base/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { SpreadWindows } from '../spread-windows.ts';
import { BurstFinder } from './burst-finder.ts';
import { type WindowKind, windowKind } from './window-kind.ts';

export interface NonAudioSettings extends JsonObject {
  readonly mostWindows: number;
  /** windows like data that make a channel data, wherever they stand */
  readonly fewestDataWindows: number;
  /** share of the sounding windows that must be plainly sound for "true" */
  readonly soundShare: number;
}

export const nonAudio: Detector<NonAudioSettings> = {
  meta: {
    id: 'non-audio',
    version: 1,
    label: 'Data as sound',
    needs: 'a word of at least 8 bits',
    settings: { mostWindows: 256, fewestDataWindows: 3, soundShare: 0.5 },
  },
  begin(info, settings, emit) {
    if (info.bits < 8) return { notApplicable: `a word of ${info.bits} bits` };
    return new NonAudioSession(info, settings, emit);
  },
};

const WINDOW = 1024;
/** chance that a window of sound looks like evenly spread bits: never seen in the recordings tried; a choice, not a derivation */
const WINDOW_CHANCE = 1e-3;

type Tally = Record<WindowKind, number>;

class NonAudioSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #settings: NonAudioSettings;
  readonly #emit: Emit;
  readonly #tallies: Tally[];
  readonly #bursts: BurstFinder;
  readonly #windows: SpreadWindows;

  constructor(info: FrameInfo, settings: NonAudioSettings, emit: Emit) {
    this.#info = info;
    this.#settings = settings;
    this.#emit = emit;
    this.#tallies = Array.from({ length: info.channels }, () => ({
      silent: 0,
      sound: 0,
      even: 0,
      bytes: 0,
      unclear: 0,
    }));
    this.#bursts = new BurstFinder(info.channels, info.bits);
    this.#windows = new SpreadWindows(info, WINDOW, settings.mostWindows, (planes) => {
      if (planes[0].length < WINDOW / 4) return;
      for (let c = 0; c < planes.length; c++) this.#tallies[c][windowKind(planes[c], info.bits)]++;
    });
  }

  push(block: Block): void {
    this.#bursts.push(block);
    this.#windows.push(block);
  }

  finish(): undefined {
    this.#windows.finish(this.#info.frames);
    for (const [c, tally] of this.#tallies.entries()) {
      const sounding = tally.sound + tally.even + tally.bytes + tally.unclear;
      if (sounding === 0 && this.#bursts.count(c) === 0) this.#sayNothing(c, tally);
      else this.#judge(c, tally, sounding);
    }
  }

  #judge(c: number, tally: Tally, sounding: number): void {
    const { fewestDataWindows, soundShare } = this.#settings;
    const bursts = this.#bursts.count(c);
    const dataWindows = tally.even + tally.bytes;
    const isShort = dataWindows === sounding && sounding > 0;
    if (bursts >= 2) this.#say(c, tally, false, 1 - this.#bursts.chance(c), 'bursts of coded audio with sync words');
    else if (dataWindows >= fewestDataWindows || isShort) {
      const kind = tally.even >= tally.bytes ? 'evenly spread bits, as compressed data or test noise' : 'raw bytes';
      this.#say(c, tally, false, 1 - Math.min(0.5, WINDOW_CHANCE ** Math.min(4, dataWindows)), kind);
    } else if (tally.sound >= soundShare * sounding && dataWindows === 0) this.#say(c, tally, true, 0.999, 'sound');
    else this.#say(c, tally, 'cannot tell', 0, 'neither plainly sound nor plainly data');
  }

  #say(c: number, tally: Tally, answer: boolean | string, confidence: number, looksLike: string): void {
    const windows = Object.values(tally).reduce((a, b) => a + b, 0);
    this.#emit.verdict({
      channel: c + 1,
      question: 'is-audio',
      answer,
      confidence,
      detectionLimit: `${windows} windows of ${WINDOW} frames, one in ${this.#windows.stride}, and every frame for sync words; shorter data between them, data spread by a filter, and time code recorded as sound go unseen`,
      evidence: {
        looksLike,
        windows: tally,
        syncWords: this.#bursts.count(c),
        burstDistance: this.#bursts.distance(c),
      },
    });
  }

  #sayNothing(c: number, tally: Tally): void {
    if (this.#info.frames > 0) this.#say(c, tally, 'cannot tell', 0, 'silence');
  }
}
