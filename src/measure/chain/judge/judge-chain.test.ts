// Faults made by plain arithmetic, so that the truth of every case is known, and captures without any: each must be called by its name, none transparent that is
// not. Faults made by other programs are in tasks/chain-files.test.ts.
import { beforeAll, describe, expect, it } from 'vitest';
import { rate } from '../../../base/index.ts';
import { Random } from '../../../signal/index.ts';
import {
  type CaptureShape,
  captureOf,
  each,
  filtered,
  onePole,
  type Planes,
  reordered,
  rounded,
  type Sent,
  type Surroundings,
  shortSignal,
} from '../../testing/chain-faults.ts';
import type { ChainFinding } from './finding.ts';
import { type ChainJudgement, judgeChain } from './judge-chain.ts';

let s16: Sent;
let s24: Sent;
beforeAll(async () => {
  s16 = await shortSignal(16);
  s24 = await shortSignal(24);
});

type Kind = ChainFinding['kind'];
type Of<K extends Kind> = Extract<ChainFinding, { kind: K }>;

interface Fault {
  readonly name: string;
  readonly bits: 16 | 24;
  readonly make: (sent: Sent, random: Random) => Planes;
  readonly kinds: readonly Kind[];
  readonly shape?: CaptureShape;
  readonly verdict?: ChainJudgement['verdict'];
  readonly check?: (judged: ChainJudgement) => void;
}

function the<K extends Kind>(judged: ChainJudgement, kind: K): Of<K> {
  const found = judged.findings.find((finding): finding is Of<K> => finding.kind === kind);
  if (!found) throw new Error(`no ${kind}`);
  return found;
}

const gainIs = (db: number, within: number) => (judged: ChainJudgement) =>
  expect(Math.abs(the(judged, 'gain').db - db)).toBeLessThan(within);
const bitsAre = (bits: number, how: string) => (judged: ChainJudgement) =>
  expect(the(judged, 'truncation')).toMatchObject({ bits, how, channels: [1, 2] });
/** frame of the capture = 4321 + frame of the changed signal */
const slipsAre = (slips: readonly (readonly [number, number])[]) => (judged: ChainJudgement) => {
  const found = the(judged, 'slips').slips;
  expect(found.map(({ frames }) => Math.round(frames))).toEqual(slips.map(([, frames]) => frames));
  for (const [k, { least, most }] of found.entries()) {
    expect(least).toBeLessThanOrEqual(4321 + slips[k][0]);
    expect(most).toBeGreaterThanOrEqual(4321 + slips[k][0]);
    expect(most - least).toBeLessThanOrEqual(1);
  }
};
const lost = (sent: Sent, at: number, frames: number): Planes =>
  reordered(sent.planes, sent.planes[0].length - frames, (n) => (n < at ? n : n + frames));
const repeated = (sent: Sent, at: number, frames: number): Planes =>
  reordered(sent.planes, sent.planes[0].length + frames, (n) => (n < at ? n : n - frames));
const over = (planes: Planes, change: (x: number) => number): Planes => planes.map((plane) => plane.map(change));
const swapped = ([a, b]: Planes): Planes => [b, a];
const later = ([a, b]: Planes, frames: number): Planes => [a, b.map((_, n) => b[n - frames] ?? 0)];

const FAULTS: readonly Fault[] = [
  // one number for every sample: the ratio is proven
  {
    name: 'half the level',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(x / 2)),
    kinds: ['gain'],
    check: (j) =>
      expect(the(j, 'gain')).toMatchObject({ basis: 'proof', fraction: { num: 1, den: 2 }, channels: [1, 2] }),
  },
  {
    name: '-3 dB',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(x * 10 ** (-3 / 20))),
    kinds: ['gain'],
    check: (j) => expect(the(j, 'gain')).toMatchObject({ basis: 'proof', db: -3 }),
  },
  {
    name: '15/16, cut off',
    bits: 16,
    make: (s) => each(s, (x) => Math.floor((x * 15) / 16)),
    kinds: ['gain'],
    check: (j) => expect(the(j, 'gain').fraction).toEqual({ num: 15, den: 16 }),
  },
  {
    name: '-0.1 dB at 16 bits',
    bits: 16,
    make: (s) => each(s, (x) => Math.round(x * 10 ** (-0.1 / 20))),
    kinds: ['gain'],
    check: gainIs(-0.1, 1e-5),
  },
  {
    name: '+3.5 dB into the stops',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(x * 1.5)),
    kinds: ['gain', 'clip'],
    check: (j) => expect(the(j, 'gain').fraction).toEqual({ num: 3, den: 2 }),
  },
  {
    name: '-60 dB',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(x / 1000)),
    kinds: ['gain'],
    check: gainIs(-60, 1e-4),
  },
  {
    name: 'gain and offset',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(x * 0.75) + 11),
    kinds: ['dc', 'gain'],
    check: (j) => expect(the(j, 'dc').steps).toBe(11),
  },
  {
    name: 'gain in one channel only',
    bits: 16,
    make: (s) => each(s, (x, _, c) => (c ? Math.round(x * 0.9) : x)),
    kinds: ['gain'],
    check: (j) => expect(the(j, 'gain').channels).toEqual([2]),
  },
  // words
  {
    name: 'cut to 16 of 24 bits',
    bits: 24,
    make: (s) => each(s, (x) => Math.floor(x / 256) * 256),
    kinds: ['truncation'],
    check: bitsAre(16, 'cut'),
  },
  {
    name: 'rounded to 16 of 24 bits',
    bits: 24,
    make: (s) => each(s, (x) => Math.min(32_767, Math.round(x / 256)) * 256),
    kinds: ['clip', 'truncation'],
    check: bitsAre(16, 'rounded'),
  },
  {
    name: 'cut to 20 of 24 bits',
    bits: 24,
    make: (s) => each(s, (x) => Math.floor(x / 16) * 16),
    kinds: ['truncation'],
    check: bitsAre(20, 'cut'),
  },
  {
    name: 'cut to 16 towards zero',
    bits: 24,
    make: (s) => each(s, (x) => Math.trunc(x / 256) * 256),
    kinds: ['truncation'],
    check: bitsAre(16, 'towards zero'),
  },
  {
    name: 'cut to 14 of 16 bits',
    bits: 16,
    make: (s) => each(s, (x) => Math.floor(x / 4) * 4),
    kinds: ['truncation'],
    check: bitsAre(14, 'cut'),
  },
  {
    name: 'cut to 23 of 24 bits',
    bits: 24,
    make: (s) => each(s, (x) => Math.floor(x / 2) * 2),
    kinds: ['truncation'],
    check: bitsAre(23, 'cut'),
  },
  {
    name: '24 bits into a file of 16',
    bits: 24,
    make: (s) => each(s, (x) => Math.floor(x / 256), 16),
    shape: { bits: 16 },
    kinds: ['truncation'],
    check: bitsAre(16, 'cut'),
  },
  {
    name: 'triangular dither to 16 bits',
    bits: 24,
    make: (s, r) => each(s, (x) => 256 * Math.min(32_767, Math.round(x / 256 + r.triangular()))),
    kinds: ['dither', 'truncation'],
    check: (j) => expect(the(j, 'dither')).toMatchObject({ shape: 'triangular', channels: [1, 2] }),
  },
  {
    name: 'rectangular dither to 16 bits',
    bits: 24,
    make: (s, r) => each(s, (x) => 256 * Math.min(32_767, Math.round(x / 256 + r.uniform() - 0.5))),
    kinds: ['dither', 'truncation'],
    check: (j) => expect(the(j, 'dither').shape).toBe('rectangular'),
  },
  {
    name: 'triangular dither at the same word',
    bits: 16,
    make: (s, r) => each(s, (x) => Math.round(x + r.triangular())),
    kinds: ['dither'],
  },
  {
    name: 'gain and dither',
    bits: 24,
    make: (s, r) => each(s, (x) => 256 * Math.round((x * 0.7) / 256 + r.triangular())),
    kinds: ['dither', 'gain', 'truncation'],
    check: gainIs(20 * Math.log10(0.7), 1e-3),
  },
  {
    name: 'offset of 37',
    bits: 24,
    make: (s) => each(s, (x) => x + 37),
    kinds: ['clip', 'dc'],
    check: (j) => expect(the(j, 'dc')).toMatchObject({ basis: 'proof', steps: 37 }),
  },
  {
    name: 'offset of -1 at 16 bits',
    bits: 16,
    make: (s) => each(s, (x) => x - 1),
    kinds: ['clip', 'dc'],
    check: (j) => expect(the(j, 'dc').steps).toBe(-1),
  },
  {
    name: 'cut to 16 bits, offset of 512',
    bits: 24,
    make: (s) => each(s, (x) => Math.min(32_767, Math.floor(x / 256) + 2) * 256),
    kinds: ['clip', 'dc', 'truncation'],
  },
  // channels
  { name: 'polarity', bits: 24, make: (s) => each(s, (x) => -x), kinds: ['clip', 'polarity'] },
  { name: 'polarity as complement', bits: 16, make: (s) => each(s, (x) => -x - 1), kinds: ['dc', 'polarity'] },
  {
    name: 'polarity of one channel',
    bits: 16,
    make: (s) => each(s, (x, _, c) => (c ? -x : x)),
    kinds: ['clip', 'polarity'],
    check: (j) => expect(the(j, 'polarity').channels).toEqual([2]),
  },
  { name: 'swapped', bits: 24, make: (s) => swapped(s.planes), kinds: ['swap'] },
  {
    name: 'swapped and turned',
    bits: 16,
    make: (s) => swapped(each(s, (x) => -x)),
    kinds: ['clip', 'polarity', 'swap'],
  },
  {
    name: 'swapped and cut',
    bits: 24,
    make: (s) => swapped(each(s, (x) => Math.floor(x / 16) * 16)),
    kinds: ['swap', 'truncation'],
  },
  {
    name: 'second channel a frame late',
    bits: 16,
    make: (s) => later(s.planes, 1),
    kinds: ['delay'],
    check: (j) => expect(the(j, 'delay')).toMatchObject({ frames: 1, channels: [2] }),
  },
  {
    name: 'delay and gain',
    bits: 24,
    make: (s) =>
      later(
        each(s, (x) => Math.round(x / 4)),
        7,
      ),
    kinds: ['delay', 'gain'],
    check: (j) => expect(the(j, 'delay').frames).toBe(7),
  },
  {
    name: 'first channel on both',
    bits: 16,
    make: (s) => [s.planes[0], s.planes[0]],
    kinds: ['duplicate', 'missing'],
    check: (j) => expect(the(j, 'duplicate').source).toBe(1),
  },
  {
    name: 'second channel silent',
    bits: 16,
    make: (s) => [s.planes[0], new Int32Array(s.planes[0].length)],
    kinds: ['missing'],
    check: (j) => expect(the(j, 'missing').source).toBe(2),
  },
  {
    name: 'one channel captured',
    bits: 16,
    make: (s) => [s.planes[1]],
    kinds: ['missing'],
    check: (j) => expect(the(j, 'missing').source).toBe(1),
  },
  {
    name: 'mono of both',
    bits: 24,
    make: (s) => each(s, (_, n) => Math.round((s.planes[0][n] + s.planes[1][n]) / 2)),
    kinds: ['gain', 'mix'],
  },
  {
    name: 'difference of both',
    bits: 24,
    make: (s) => each(s, (_, n) => Math.round((s.planes[0][n] - s.planes[1][n]) / 2)),
    kinds: ['gain', 'mix'],
    check: (j) => expect(the(j, 'mix').isTurned).toBe(true),
  },
  {
    name: 'crosstalk at -40 dB',
    bits: 24,
    make: (s) => each(s, (x, n, c) => Math.round(x + 0.01 * s.planes[1 - c][n])),
    kinds: ['crosstalk'],
    check: (j) => expect(Math.abs(the(j, 'crosstalk').db + 40)).toBeLessThan(the(j, 'crosstalk').uncertainty + 1e-3),
  },
  {
    name: 'crosstalk at -70 dB and gain',
    bits: 24,
    make: (s) => each(s, (x, n, c) => Math.round(0.8 * (x + 10 ** -3.5 * s.planes[1 - c][n]))),
    kinds: ['crosstalk', 'gain'],
    check: (j) => expect(Math.abs(the(j, 'crosstalk').db + 70)).toBeLessThan(0.05),
  },
  // slips
  {
    name: 'one frame lost',
    bits: 24,
    make: (s) => lost(s, 150_000, 1),
    kinds: ['slips'],
    check: slipsAre([[150_000, -1]]),
  },
  {
    name: 'one frame repeated',
    bits: 16,
    make: (s) => repeated(s, 200_123, 1),
    kinds: ['slips'],
    check: slipsAre([[200_123, 1]]),
  },
  {
    name: 'a buffer lost',
    bits: 24,
    make: (s) => lost(s, 150_000, 4800),
    kinds: ['slips'],
    check: slipsAre([[150_000, -4800]]),
  },
  {
    name: 'two seconds lost',
    bits: 24,
    make: (s) => lost(s, 120_000, 100_000),
    kinds: ['slips'],
    check: slipsAre([[120_000, -100_000]]),
  },
  {
    name: 'a block repeated',
    bits: 16,
    make: (s) => repeated(s, 77_777, 512),
    kinds: ['slips'],
    check: slipsAre([[77_777, 512]]),
  },
  {
    name: '1000 ppm slow',
    bits: 24,
    make: (s) => reordered(s.planes, 307_200 - 307, (n) => n + Math.floor(n / 1000)),
    kinds: ['slips'],
    check: (j) => {
      const { slips, ppm } = the(j, 'slips');
      // those in silence before and after the sound cannot be seen
      expect(slips.length).toBeGreaterThan(290);
      for (const { frames, least, most } of slips) {
        expect(frames).toBe(-1);
        expect(1000 * Math.floor((most - 4321) / 1000)).toBeGreaterThanOrEqual(least - 4321);
      }
      expect(Math.abs(ppm + 1000)).toBeLessThan(50);
    },
  },
  {
    name: '20 ppm fast',
    bits: 16,
    make: (s) => reordered(s.planes, 307_206, (n) => n - Math.floor((n + 1000) / 50_001)),
    kinds: ['slips'],
    check: (j) => expect(the(j, 'slips').net).toBe(6),
  },
  {
    name: 'lost, then repeated',
    bits: 16,
    make: (s) => reordered(s.planes, 307_200, (n) => (n < 60_000 || n >= 180_000 ? n : n + 3)),
    kinds: ['slips'],
    check: slipsAre([
      [60_000, -3],
      [180_000, 3],
    ]),
  },
  {
    name: 'a slip made good within a cell',
    bits: 16,
    make: (s) => reordered(s.planes, 307_200, (n) => (n < 61_000 || n >= 63_500 ? n : n + 2)),
    kinds: ['slips'],
    check: slipsAre([
      [61_000, -2],
      [63_500, 2],
    ]),
  },
  {
    name: 'cut and slipped',
    bits: 24,
    make: (s) => over(lost(s, 101_010, 2), (x) => Math.floor(x / 256) * 256),
    kinds: ['slips', 'truncation'],
    check: slipsAre([[101_010, -2]]),
  },
  {
    name: 'gain and slip',
    bits: 16,
    make: (s) => over(lost(s, 101_010, 1), (x) => Math.round(x * 0.9)),
    kinds: ['gain', 'slips'],
    check: gainIs(20 * Math.log10(0.9), 1e-4),
  },
  {
    name: 'swapped and slipped',
    bits: 16,
    make: (s) => swapped(lost(s, 250_000, 1)),
    kinds: ['slips', 'swap'],
    check: slipsAre([[250_000, -1]]),
  },
  {
    name: 'noise and slip',
    bits: 24,
    make: (s, r) => over(lost(s, 150_000, 5), (x) => Math.round(x + 300 * r.gaussian())),
    kinds: ['noise', 'slips'],
    check: (j) => expect(the(j, 'slips').net).toBe(-5),
  },
  // noise
  {
    name: 'noise',
    bits: 24,
    make: (s, r) => each(s, (x) => Math.round(x + 200 * r.gaussian())),
    kinds: ['noise'],
    check: (j) => {
      expect(Math.abs(the(j, 'noise').rmsSteps - 200)).toBeLessThan(2);
      // 200 steps of 24 bits: log2(2^24 / (200 sqrt 12))
      expect(Math.abs(the(j, 'noise').equalBits - Math.log2(2 ** 24 / (200 * Math.sqrt(12))))).toBeLessThan(0.02);
    },
  },
  {
    name: 'noise at 16 bits',
    bits: 16,
    make: (s, r) => each(s, (x) => Math.round(x + 3 * r.gaussian())),
    kinds: ['noise'],
  },
  {
    name: 'noise and gain',
    bits: 24,
    make: (s, r) => each(s, (x) => Math.round(0.5 * x + 500 * r.gaussian())),
    kinds: ['gain', 'noise'],
    check: gainIs(-6.0206, 2e-3),
  },
  {
    name: 'hum',
    bits: 24,
    make: (s) => each(s, (x, n) => Math.round(x + 3000 * Math.sin((2 * Math.PI * 50 * n) / 48_000))),
    kinds: ['noise'],
  },
  // bits and samples
  {
    name: 'bit 12 stuck at 0',
    bits: 24,
    make: (s) => each(s, (x) => x & ~(1 << 12)),
    kinds: ['bits'],
    check: (j) =>
      expect(
        the(j, 'bits')
          .states.map((state, k) => `${k} ${state}`)
          .filter((t) => !t.endsWith('same')),
      ).toEqual(['12 always 0']),
  },
  {
    name: 'bit 3 stuck at 1',
    bits: 16,
    make: (s) => each(s, (x) => x | 8),
    kinds: ['bits'],
    check: (j) => expect(the(j, 'bits').states[3]).toBe('always 1'),
  },
  {
    name: 'bit 5 inverted',
    bits: 16,
    make: (s) => each(s, (x) => x ^ 32),
    kinds: ['bits'],
    check: (j) => expect(the(j, 'bits').states[5]).toBe('inverted'),
  },
  {
    name: 'muted for 300 frames',
    bits: 24,
    make: (s) => each(s, (x, n) => (n >= 100_000 && n < 100_300 ? 0 : x)),
    kinds: ['errors'],
    check: (j) => expect(the(j, 'errors').stillFrames).toBeGreaterThan(290),
  },
  {
    name: 'muted for a second',
    bits: 24,
    make: (s) => each(s, (x, n) => (n > 100_000 && n < 150_000 ? 0 : x)),
    kinds: ['errors'],
    check: (j) => expect(the(j, 'errors').stillFrames).toBeGreaterThan(49_000),
  },
  {
    name: 'one wrong sample',
    bits: 24,
    make: (s) => each(s, (x, n, c) => (n === 123_456 && c === 1 ? x ^ 1 : x)),
    kinds: ['errors'],
    check: (j) =>
      expect(the(j, 'errors')).toMatchObject({
        frames: 1,
        channels: [2],
        spans: [{ frame: 4321 + 123_456, frames: 1 }],
      }),
  },
  {
    name: 'held for 20 frames',
    bits: 16,
    make: (s) => each(s, (x, n, c) => (n > 99_000 && n <= 99_020 ? s.planes[c][99_000] : x)),
    kinds: ['errors'],
  },
  {
    name: 'gain and wrong samples',
    bits: 24,
    make: (s) => each(s, (x, n) => (n % 30_011 === 29_000 ? 5000 : Math.round(x / 2))),
    kinds: ['errors', 'gain'],
    check: (j) => expect(the(j, 'errors').spans).toHaveLength(10),
  },
  // level
  {
    name: 'clipped at half',
    bits: 24,
    make: (s) => each(s, (x) => Math.max(-4_000_000, Math.min(4_000_000, x))),
    kinds: ['clip'],
    check: (j) => expect(Math.abs(the(j, 'clip').highDb - 20 * Math.log10(4e6 / 2 ** 23))).toBeLessThan(0.01),
  },
  {
    name: 'soft limiter',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(2 ** 23 * Math.tanh(x / 2 ** 23))),
    kinds: ['limiter'],
    check: (j) => expect(the(j, 'limiter').way).toBe('less when loud'),
  },
  {
    name: 'limiter and gain',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(2 ** 22 * Math.tanh(x / 2 ** 23))),
    kinds: ['gain', 'limiter'],
    check: gainIs(-6.02, 0.02),
  },
  {
    name: 'expander',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(0.7 * x * (1 + 0.4 * Math.abs(x / 2 ** 23)))),
    kinds: ['gain', 'limiter'],
    check: (j) => expect(the(j, 'limiter').way).toBe('more when loud'),
  },
  {
    name: 'an error that follows the sound',
    bits: 24,
    make: (s) => each(s, (x) => Math.round(0.9 * x + 400 * Math.sin(x / 700))),
    kinds: ['gain', 'other'],
  },
  // filters
  {
    name: 'one pole',
    bits: 24,
    make: (s) => rounded(onePole(s.planes, 0.3), 24),
    kinds: ['filter'],
    check: (j) => {
      // |H|^2 = a^2 / (1 + b^2 - 2 b cos w) with b = 1 - a: -3 dB where cos w = (1 + b^2 - 2 a^2) / 2 b
      const truth = (Math.acos((1 + 0.49 - 0.18) / 1.4) * 48_000) / 2 / Math.PI;
      const found = the(j, 'filter').response.highEdgeHz ?? 0;
      expect(found).toBeGreaterThan(truth / 1.06);
      expect(found).toBeLessThan(truth * 1.06);
    },
  },
  {
    name: 'high pass',
    bits: 24,
    make: (s) =>
      rounded(
        onePole(s.planes, 0.01).map((low, c) => low.map((y, n) => s.planes[c][n] - y)),
        24,
      ),
    kinds: ['filter'],
  },
  {
    name: 'half a frame late',
    bits: 24,
    make: (s) => rounded(filtered(s.planes, [0.5, 0.5]), 24),
    kinds: ['filter'],
    check: (j) => expect(Math.abs(Math.abs(the(j, 'filter').delayFrames) - 0.5)).toBeLessThan(0.01),
  },
  {
    name: 'filter and gain',
    bits: 24,
    make: (s) => rounded(filtered(s.planes, [0.3, 0.1, -0.05]), 24),
    kinds: ['filter', 'gain'],
  },
  {
    name: 'filter and slip',
    bits: 24,
    make: (s) => rounded(filtered(lost(s, 150_000, 40), [0.8, 0.2]), 24),
    kinds: ['filter', 'slips'],
    check: (j) => expect(the(j, 'slips').net).toBe(-40),
  },
  {
    name: 'filter and dither to 16 bits',
    bits: 24,
    make: (s, r) => rounded(onePole(s.planes, 0.5), 24, () => r.triangular(), 256),
    kinds: ['dither', 'filter', 'truncation'],
  },
  {
    name: 'filter and polarity',
    bits: 16,
    make: (s) =>
      rounded(
        onePole(s.planes, 0.6).map((p) => p.map((x) => -x)),
        16,
      ),
    kinds: ['filter', 'polarity'],
  },
  {
    name: 'filter and noise, as behind an analogue detour',
    bits: 24,
    make: (s, r) => rounded(onePole(s.planes, 0.4), 24, () => 1500 * r.gaussian()),
    kinds: ['filter', 'noise'],
    verdict: 'analogue',
  },
  // labels
  {
    name: 'the right samples under a wrong rate',
    bits: 16,
    make: (s) => s.planes,
    shape: { label: rate(44_100) },
    kinds: ['rate-label'],
  },
];

describe('faults made by arithmetic', () => {
  it('are as many as the matrix asks for, together with those other programs make', () => {
    expect(FAULTS.length).toBeGreaterThanOrEqual(60);
  });

  it.each(FAULTS)('$name', async ({ bits, make, kinds, shape, verdict = 'changed', check }) => {
    const sent = bits === 16 ? s16 : s24;
    const judged = await judgeChain(captureOf(sent, make(sent, new Random(7)), shape), { signal: sent.signal });
    expect(judged.findings.map((finding) => finding.kind).sort()).toEqual([...kinds].sort());
    expect(judged.verdict).toBe(verdict);
    check?.(judged);
  });
});

describe('transparent captures', () => {
  const random = new Random(2026);
  const cases = Array.from({ length: 100 }, (_, k) => ({
    bits: k % 2 ? 16 : 24,
    around: (['silence', 'noise', 'music'] as Surroundings[])[k % 3],
    before: random.integer(120_000),
    after: random.integer(20_000),
    seed: k,
    isKnown: k % 4 !== 3,
  }));
  it.each(cases)('$bits bits, $before frames of $around before, signal known: $isKnown', async (one) => {
    const sent = one.bits === 16 ? s16 : s24;
    const judged = await judgeChain(captureOf(sent, sent.planes, one), one.isKnown ? { signal: sent.signal } : {});
    expect(judged.verdict).toBe('transparent');
    expect(judged.findings).toEqual([]);
    expect(judged.signal).toEqual(sent.signal);
    expect(judged.channels.map(({ firstFrame }) => firstFrame)).toEqual([one.before, one.before]);
    expect(judged.proof).toMatchObject({ samplesCompared: 614_400, samplesEqual: 614_400, bitsMoved: one.bits });
  });

  it('16 bits in a file of 24, and a pair among eight channels', async () => {
    const wide = each(s16, (x) => x * 256, 24);
    expect((await judgeChain(captureOf(s16, wide, { bits: 24 }))).verdict).toBe('transparent');
    const silent = new Int32Array(s16.planes[0].length);
    const eight = [silent, silent, s16.planes[0], s16.planes[1], silent, silent, silent, silent];
    const judged = await judgeChain(captureOf(s16, eight));
    expect(judged.verdict).toBe('transparent');
    expect(judged.channels.map(({ channel }) => channel)).toEqual([3, 4]);
    const chosen = await judgeChain(captureOf(s16, eight), { channels: [2, 3] });
    expect(chosen.channels.map(({ channel }) => channel)).toEqual([3, 4]);
  });

  it('two pairs at once are judged together: order, delay and absence of each count', async () => {
    const [a, b] = s16.planes;
    const kinds = async (planes: Planes, channels?: readonly number[]) =>
      (await judgeChain(captureOf(s16, planes), { signal: s16.signal, channels })).findings;
    expect(await kinds([a, b, a, b])).toEqual([]);
    expect(await kinds([a, b, b, a])).toMatchObject([{ kind: 'swap', channels: [3, 4] }]);
    expect(await kinds([a, b, ...later([a, b], 3)])).toMatchObject([{ kind: 'delay', frames: 3, channels: [4] }]);
    const silent = new Int32Array(a.length);
    expect(await kinds([a, b, a, silent])).toMatchObject([{ kind: 'missing' }]);
    expect(await kinds([a, b, silent, silent], [0, 1, 2, 3])).toMatchObject([
      { kind: 'missing', channels: [3] },
      { kind: 'missing', channels: [4] },
    ]);
  });

  it('at a rate that is a fraction, under the nearest whole rate of a header', async () => {
    const sent = await shortSignal(16, rate(44_100_000, 1001));
    const source = captureOf(sent, sent.planes, { label: rate(44_056) });
    expect((await judgeChain(source)).verdict).toBe('transparent');
  });
});
