// Writes linear timecode as samples: words of 80 bits in biphase mark, at any speed and either way, with edges of the standard's rise time. For
// test signals, tests and benches. Not for reading it.
import { bitsOf, type CodeWord } from './code-word.ts';

export interface TimecodeSignal {
  readonly rateHz: number;
  /** words in a second at speed 1 */
  readonly framesPerSecond: number;
  /** factor of speed at a position 0..1 of the signal's words; default 1 */
  readonly speed?: number | ((share: number) => number);
  /** the signal as a tape played backwards gives it */
  readonly isReverse?: boolean;
  /** samples of silence before the first edge, with a fraction if wanted */
  readonly leadFrames?: number;
  /** peak in sample values */
  readonly peak: number;
  /** seconds from 10 to 90 % of an edge at speed 1; SMPTE 12M: 40 us, certainty M */
  readonly riseSeconds?: number;
}

export interface WrittenTimecode {
  /** samples as real numbers: round them, or add noise first */
  readonly samples: Float64Array;
  /** where each word begins and where the last one ends, in samples, in order of time */
  readonly starts: readonly number[];
}

export function writeTimecode(words: readonly CodeWord[], signal: TimecodeSignal): WrittenTimecode {
  const { edges, starts } = edgesOf(words, signal);
  const end = edges[edges.length - 1] ?? 0;
  const samples = new Float64Array(Math.ceil(end) + Math.ceil(signal.rateHz / 1000));
  const speed = typeof signal.speed === 'number' ? signal.speed : 1;
  // A straight edge from 0 to 100 % lasts 1.25 times as long as from 10 to 90 %; never shorter than a sample.
  const width = Math.max(1, (1.25 * (signal.riseSeconds ?? 40e-6) * signal.rateHz) / speed);
  draw(samples, edges, width, signal.peak);
  return { samples, starts };
}

function edgesOf(words: readonly CodeWord[], signal: TimecodeSignal) {
  const { rateHz, framesPerSecond, speed = 1, isReverse = false, leadFrames = 0 } = signal;
  const order = isReverse ? [...words].reverse() : words;
  const edges = [leadFrames];
  const starts: number[] = [];
  let at = leadFrames;
  for (const [w, word] of order.entries()) {
    const bits = isReverse ? [...bitsOf(word)].reverse() : [...bitsOf(word)];
    starts.push(at);
    for (const [b, bit] of bits.entries()) {
      const factor = typeof speed === 'number' ? speed : speed((w + b / bits.length) / order.length);
      const length = rateHz / (framesPerSecond * bits.length * factor);
      if (bit === '1') edges.push(at + length / 2);
      at += length;
      edges.push(at);
    }
  }
  starts.push(at);
  return { edges, starts };
}

/** An edge at place k + 0.5 lies between samples k and k + 1; the first sample of a word that begins at k is sample k. */
function draw(samples: Float64Array, edges: readonly number[], width: number, peak: number): void {
  let level = -peak;
  for (const [e, edge] of edges.entries()) {
    const middle = edge - 0.5;
    const next = (edges[e + 1] ?? samples.length) - 0.5;
    const from = Math.max(0, Math.ceil(e === 0 ? middle - width / 2 : (edges[e - 1] - 0.5 + middle) / 2));
    const to = Math.min(samples.length, Math.ceil((middle + next) / 2));
    const isLast = e === edges.length - 1;
    for (let i = from; i < (isLast ? samples.length : to); i++) {
      const share = Math.max(-1, Math.min(1, (2 * (i - middle)) / width));
      samples[i] = -level * share;
    }
    level = -level;
  }
}
