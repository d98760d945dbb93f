// Detector: channels that carry linear timecode. Such a channel is data, whatever it sounds like: it must not reach ears, and it can place captures
// that share nothing else. Silent about channels without; every word of a channel is read by the verb `timecode`.
import { type Block, type FrameInfo, type JsonObject, rateHz } from '../../base/index.ts';
import { readTimecode, type TimecodeSummary, timecodeSummary, WordList } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import { TimecodeWatch, WATCH_WINDOW } from './timecode-watch.ts';

export const timecode: Detector = {
  meta: {
    id: 'timecode',
    version: 1,
    label: 'Linear timecode',
    needs: 'a rate of at least 8000 Hz',
    settings: {},
  },
  begin(info, _settings, emit) {
    if (rateHz(info.rate) < 8000) return { notApplicable: `a rate of ${Math.round(rateHz(info.rate))} Hz` };
    return new TimecodeSession(info, emit);
  },
};

/** Jumps and gaps told one by one in a channel; the verdict counts all of them. */
const MOST_FINDINGS = 1000;

class TimecodeSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #emit: Emit;
  readonly #words: WordList[];
  readonly #watches: TimecodeWatch[];

  constructor(info: FrameInfo, emit: Emit) {
    this.#info = info;
    this.#emit = emit;
    this.#words = Array.from({ length: info.channels }, () => new WordList());
    this.#watches = this.#words.map((list) => new TimecodeWatch(rateHz(info.rate), (word) => list.add(word)));
  }

  push(block: Block): void {
    for (const [c, watch] of this.#watches.entries()) watch.push(block.planes[c]);
  }

  finish(): undefined {
    const hz = rateHz(this.#info.rate);
    for (const [c, watch] of this.#watches.entries()) {
      watch.finish();
      const reading = readTimecode(this.#words[c], hz, this.#info.frames);
      if (!reading) continue;
      const summary = timecodeSummary(reading, hz);
      this.#sayWhich(c + 1, summary);
      this.#sayData(c + 1, summary);
      this.#sayPlaces(c + 1, summary);
    }
  }

  #sayWhich(channel: number, summary: TimecodeSummary): void {
    const seconds = (WATCH_WINDOW / rateHz(this.#info.rate)).toFixed(2);
    this.#emit.verdict({
      channel,
      question: 'timecode',
      answer: `${summary.from} to ${summary.to}, ${summary.count}${summary.isDrop ? ' drop' : ''}`,
      confidence: confidenceOf(summary),
      detectionLimit: `looked for in windows of ${seconds} s; what is shorter, more than about 10 dB of noise, or up to ${TimecodeWatch.blindSeconds} s after sound that looked like it go unseen`,
      evidence: summary as unknown as JsonObject,
    });
  }

  #sayData(channel: number, summary: TimecodeSummary): void {
    const frames = summary.sections.reduce((sum, { start, end }) => sum + end - start, 0);
    this.#emit.verdict({
      channel,
      question: 'is-audio',
      answer: false,
      confidence: confidenceOf(summary),
      detectionLimit: '',
      evidence: { looksLike: 'linear timecode', share: Math.min(1, frames / this.#info.frames) },
    });
  }

  #sayPlaces(channel: number, { jumps, gaps, expectedByChance, sections }: TimecodeSummary): void {
    const { version, id: detector } = timecode.meta;
    const common = { detector, version, channels: [channel], expectedByChance, expected: 0, confidence: 0.99 };
    const wordFrames = Math.ceil(sections[0].samplesPerFrame ?? 1);
    for (const { at, kind, from, to, frames } of jumps.slice(0, MOST_FINDINGS)) {
      const start = within(at, this.#info.frames);
      const length = Math.min(wordFrames, this.#info.frames - start);
      const detail = { change: kind, from, to };
      this.#emit.finding({
        ...common,
        kind: 'timecode-jump',
        start,
        length,
        measured: frames,
        unit: 'timecode frames',
        detail,
      });
    }
    for (const { start: from, end, missing } of gaps.slice(0, MOST_FINDINGS)) {
      const start = within(from, this.#info.frames);
      const length = Math.max(1, within(end, this.#info.frames) - start);
      this.#emit.finding({
        ...common,
        kind: 'timecode-gap',
        start,
        length,
        measured: missing,
        unit: 'words',
        detail: {},
      });
    }
  }
}

function within(at: number, frames: number): number {
  return Math.max(0, Math.min(frames - 1, Math.round(at)));
}

function confidenceOf({ expectedByChance }: TimecodeSummary): number {
  return 1 - Math.min(1, expectedByChance);
}
