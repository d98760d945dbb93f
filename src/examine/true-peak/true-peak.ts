// Detector: the highest level of the wave between the samples, per channel (ITU-R BS.1770 Annex 2). Facts, no limit is judged:
// what was clipped before the recording cannot be seen here (clipping.ts lists rows at the end of the scale).
import { type Block, type FrameInfo, rateHz } from '../../base/index.ts';
import { TRUE_PEAK_PASSBAND, TRUE_PEAK_TAPS, TruePeakMeter, type TruePeakReading } from '../../signal/index.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';

/** What the interpolator may take from a tone in its passband (signal/true-peak.test.ts). */
const RIPPLE_DB = 0.03;

export const truePeak: Detector = {
  meta: { id: 'true-peak', version: 1, label: 'True peak', needs: 'at least one frame', settings: {} },
  begin: (info, _settings, emit) => new TruePeakSession(info, emit),
};

class TruePeakSession implements DetectorSession {
  readonly #info: FrameInfo;
  readonly #emit: Emit;
  readonly #meters: readonly TruePeakMeter[];
  #frames = 0;

  constructor(info: FrameInfo, emit: Emit) {
    this.#info = info;
    this.#emit = emit;
    this.#meters = Array.from({ length: info.channels }, () => new TruePeakMeter(info.rate));
  }

  push(block: Block): void {
    this.#frames += block.frames;
    for (let c = 0; c < this.#meters.length; c++) this.#meters[c].push(block.planes[c], block.frames);
  }

  finish(): undefined {
    if (this.#frames === 0) return;
    for (const [c, meter] of this.#meters.entries()) this.#say(c, meter.finish());
  }

  #say(c: number, { peak, frame, samplePeak, oversampling }: TruePeakReading): void {
    const full = 2 ** (this.#info.bits - 1);
    this.#emit.verdict({
      channel: c + 1,
      question: 'true-peak',
      answer: peak === 0 ? 'digital silence' : decibels(peak / full),
      confidence: 1,
      detectionLimit: limitText(oversampling, rateHz(this.#info.rate)),
      evidence: {
        unit: 'dBTP',
        frame,
        samplePeakDb: samplePeak === 0 ? null : decibels(samplePeak / full),
        oversampling,
        tapsPerPlace: TRUE_PEAK_TAPS,
      },
    });
  }
}

/** A tone's crest may lie half a step from the nearest place; above the passband the interpolator itself lets go. */
function limitText(oversampling: number, hz: number): string {
  const lowDb = RIPPLE_DB - 20 * Math.log10(Math.cos((Math.PI * TRUE_PEAK_PASSBAND) / oversampling));
  const upToKhz = (hz * TRUE_PEAK_PASSBAND) / 1000;
  return (
    `read at ${oversampling} places per sample: a tone up to ${upToKhz.toFixed(1)} kHz at most ${lowDb.toFixed(2)} dB low, ` +
    'above that by more; a wave cut before it was recorded is seen as cut'
  );
}

function decibels(ratio: number): number {
  return Math.round(2000 * Math.log10(ratio)) / 100;
}
