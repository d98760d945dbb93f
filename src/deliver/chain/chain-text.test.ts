// Every kind of change has its sentence, with its numbers, in text and page; nothing unprintable comes out. Truth: the numbers that are put in.
import { expect, it } from 'vitest';
import { rate } from '../../base/index.ts';
import type { ChainFinding } from '../../measure/index.ts';
import type { ChainDocument } from './chain-document.ts';
import { chainHtml } from './chain-html.ts';
import { chainText } from './chain-text.ts';
import { findingSentence, TITLES } from './chain-words.ts';

const spectrum = {
  bands: [
    { hz: 100, db: -90 },
    { hz: 1000, db: null },
  ],
  lineHz: 50,
  quietest: 0.1,
  middle: 1,
  loudest: 3,
  loudestHz: 9000,
};
const response = {
  points: [
    { hz: 100, db: 0 },
    { hz: 1000, db: -1 },
  ],
  gainDb: 0,
  highEdgeHz: 15_500,
  rippleDb: 1.25,
  delayFrames: 0.5,
};
const channels = [1, 2];
const SAID: readonly (readonly [ChainFinding, RegExp])[] = [
  [
    {
      kind: 'gain',
      basis: 'proof',
      ratio: 0.9375,
      low: 0.93749,
      high: 0.93751,
      db: -0.5606,
      fraction: { num: 15, den: 16 },
      channels,
    },
    /times 15\/16 \(-0\.5606 dB\)/,
  ],
  [
    { kind: 'gain', basis: 'measured', ratio: 0.5, low: 0.49, high: 0.51, db: -6.0206, channels },
    /-6\.021 dB: times 0\.5 ± 0\.010/,
  ],
  [{ kind: 'polarity', channels }, /opposite sign/],
  [{ kind: 'dc', basis: 'proof', steps: 37, uncertainty: 0, db: -107.1, channels }, /37 steps of/],
  [{ kind: 'dc', basis: 'measured', steps: -3.25, uncertainty: 0.5, db: -80, channels }, /-3\.(2|3) steps ± 0\.5/],
  [{ kind: 'truncation', bits: 16, of: 24, how: 'cut', channels }, /Of 24 bits 16 are left/],
  [{ kind: 'dither', shape: 'triangular', rmsSteps: 0.5, channels }, /Triangular dither of two steps/],
  [
    { kind: 'noise', rmsSteps: 200, db: -89.4, equalBits: 14.56, coveredBits: 9.44, spectrum, channels },
    /-89\.4 dBFS rms .* 14\.6 bits.*9\.4 bits.*near 50 Hz/,
  ],
  [{ kind: 'swap', channels }, /second sent channel comes before/],
  [{ kind: 'duplicate', source: 1, channels }, /hold sent channel 1/],
  [{ kind: 'missing', source: 2, channels: [] }, /channel 2 is missing/],
  [
    { kind: 'crosstalk', db: -40, uncertainty: 0.1, isTurned: true, channels },
    /-40\.00 dB ± 0\.10 of the own one, with opposite sign/,
  ],
  [{ kind: 'mix', db: 0, uncertainty: 0.1, isTurned: false, channels }, /added up/],
  [{ kind: 'delay', frames: 7, uncertainty: 0.02, channels: [2] }, /7 frames later/],
  [
    {
      kind: 'slips',
      slips: [
        { frame: 48_000, least: 48_000, most: 48_000, frames: -1 },
        { frame: 96_000, least: 95_000, most: 97_000, frames: 3 },
      ],
      net: 2,
      ppm: 1.5,
      channels,
    },
    /1 frames lost, 3 repeated or put in: -1 at frame 48000 \(1\.000 s\); \+3 at between frames 95000 and 97000/,
  ],
  [
    {
      kind: 'rate-conversion',
      ratio: 0.91875,
      uncertainty: 1e-9,
      nominal: { num: 147, den: 160 },
      ppm: 0.001,
      ppmUncertainty: 0.002,
      scatterFrames: 0.2,
      channels,
    },
    /147\/160.*about 44100 Hz.*scatter by 0\.20/,
  ],
  [
    {
      kind: 'rate-conversion',
      ratio: 1.00005,
      uncertainty: 1e-8,
      nominal: { num: 1, den: 1 },
      ppm: 50,
      ppmUncertainty: 0.02,
      scatterFrames: 0,
      channels,
    },
    /did not run on the clock.*50\.000 ± 0\.020 ppm from one/,
  ],
  [{ kind: 'rate-label', labelHz: 44_100, sentHz: 48_000, channels }, /says 44100 Hz.*48000 Hz/],
  [{ kind: 'filter', response, delayFrames: 0.5, channels }, /up to 15500 Hz.*within 1\.25 dB.*0\.50 frames/],
  [
    { kind: 'limiter', way: 'less when loud', fromDb: -12, mostDb: -1.63, levels: [], channels },
    /From -12 dBFS the gain falls, by 1\.63 dB/,
  ],
  [{ kind: 'clip', lowDb: -6.02, highDb: -6.02, samples: 1104, channels }, /1104 samples would lie beyond/],
  [{ kind: 'bits', states: ['same', 'always 0', 'inverted'], channels }, /bit 1 always 0, bit 2 inverted/],
  [
    {
      kind: 'errors',
      spans: [
        { frame: 5, frames: 1 },
        { frame: 90, frames: 300 },
      ],
      frames: 301,
      stillFrames: 300,
      channels,
    },
    /frame 5, 300 frames from 90\. 300 of them stand still/,
  ],
  [
    { kind: 'other', restDb: -62, belowSignalDb: -24.5, spectrum, channels },
    /-62\.0 dBFS \(24\.5 dB below the signal\).*50 Hz/,
  ],
];

const file = {
  path: 'captured.wav',
  container: 'wave',
  rate: rate(48_000),
  bits: 24,
  channels: 2,
  frames: 310_000,
  digests: { file: { sha256: 'f'.repeat(64) }, audio: { sha256: 'a'.repeat(64) } },
  problems: [],
};
const document: ChainDocument = {
  schema: 'tapeproof/chain@1',
  tool: '0.0.0',
  date: '2026-11-29T12:00:00.000Z',
  verdict: 'changed',
  signal: { version: 1, bits: 24, rate: rate(48_000), cells: 24, frames: 307_200 },
  captured: file,
  channels: [],
  findings: SAID.map(([finding]) => finding),
  coverage: { sentFrom: 0, sentTo: 307_200, isWhole: true },
  proof: {
    samplesCompared: 614_400,
    samplesEqual: 5,
    seconds: 6.4,
    bitsMoved: 24,
    hasAllValues: null,
    seenFaultRate: null,
  },
  settings: { channels: [1, 2] },
  notes: ['<b>firmware</b> 1.10'],
  doubts: [],
};

it.each(SAID.map(([finding, said]) => [finding.kind, finding, said] as const))('%s', (_, finding, said) => {
  expect(findingSentence(finding, document)).toMatch(said);
});

it('knows every kind, and prints no hole', () => {
  expect(new Set(SAID.map(([finding]) => finding.kind))).toEqual(new Set(Object.keys(TITLES)));
  for (const text of [chainText(document), chainHtml(document)]) {
    expect(text).not.toMatch(/undefined|NaN|Infinity|\[object/);
    expect(text).toMatch(/^Not transparent: |Not transparent: /);
  }
  expect(chainHtml(document)).toContain('&lt;b&gt;firmware&lt;/b&gt;');
  expect(chainHtml(document).match(/<svg/g)).toHaveLength(2);
});
