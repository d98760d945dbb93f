// A made tape whose rate changes: real recordings one after the other, hum and lines of a picture at their true frequencies under each section's own rate, gaps
// of silence where the rate changes and pauses where it does not. The truth beside it. Made while it is read, so that hours cost nothing.
import { type Block, type FrameSource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';

export interface TapeSection {
  readonly trueHz: number;
  readonly seconds: number;
  /** silence before the section */
  readonly gapSeconds: number;
}

export interface RateTapeOptions {
  readonly headerHz: number;
  readonly sections: readonly TapeSection[];
  readonly music: readonly Int32Array[];
  /** mains frequency and level of its first harmonic, dBFS */
  readonly hum?: { readonly hz: number; readonly levelDb: number };
  readonly line?: { readonly hz: number; readonly levelDb: number };
  readonly seed: number;
}

export interface RateTape {
  readonly source: FrameSource;
  /** first sounding frame of each section */
  readonly starts: readonly number[];
}

export function rateTape(options: RateTapeOptions): RateTape {
  const { headerHz, sections, music, seed } = options;
  const random = new Random(seed);
  let at = 0;
  const placed = sections.map((section, i) => {
    const start = at + Math.round(section.gapSeconds * headerHz);
    const frames = Math.round(section.seconds * section.trueHz);
    at = start + frames;
    return {
      ...section,
      start,
      frames,
      piece: music[i % music.length],
      from: random.integer(1 << 24),
      tones: tonesOf(options, section.trueHz),
    };
  });
  const block = (start: number, wanted: number): Block => {
    const frames = Math.max(0, Math.min(wanted, at - start));
    const plane = new Int32Array(frames);
    for (const { start: first, frames: length, piece, from, tones } of placed) {
      const to = Math.min(start + frames, first + length);
      for (let n = Math.max(start, first); n < to; n++) {
        const k = n - first;
        const sample = Math.round(0.5 * piece[(from + k) % piece.length] + tones[k % tones.length]);
        plane[n - start] = Math.max(-32_768, Math.min(32_767, sample));
      }
    }
    return { start, frames, planes: [plane] };
  };
  const source: FrameSource = {
    info: { name: 'made', channels: 1, frames: at, rate: rate(headerHz), bits: 16 },
    read: async (start, wanted) => block(start, wanted),
    async *blocks({ blockFrames = 65_536, start = 0 } = {}) {
      for (let n = start; n < at; n += blockFrames) yield block(n, blockFrames);
    },
  };
  return { source, starts: placed.map(({ start }) => start) };
}

/** One table of 20 s: whole turns of any tenth of a hertz, near enough. */
function tonesOf({ hum, line }: RateTapeOptions, trueHz: number): Float64Array {
  const table = new Float64Array(Math.round(20 * trueHz));
  const add = (hz: number, levelDb: number, phase: number) => {
    const level = 32_768 * 10 ** (levelDb / 20);
    for (let n = 0; n < table.length; n++) table[n] += level * Math.sin((2 * Math.PI * hz * n) / trueHz + phase);
  };
  // A real mains waveform: odd harmonics stronger than even ones, all falling.
  if (hum) for (let k = 1; k <= 8; k++) add(k * hum.hz, hum.levelDb - (k % 2 ? 3 : 6) * Math.log2(k), k);
  if (line) add(line.hz, line.levelDb, 0);
  return table;
}
