// A small invented transfer with everything a report can hold, for the tests of deliver/ and for looking at the pages.
// Numbers are made by hand or by a seeded sequence; they are not measurements.
import type { Placement } from '../../align/index.ts';
import { rate } from '../../base/index.ts';
import type { Finding, Verdict } from '../../examine/index.ts';
import type { ProofState, ProvenanceRun } from '../../reconcile/index.ts';
import type { ReportGroup, ReportInput } from '../build-report.ts';
import type { LevelHistogram, ReportCapture } from '../report-model.ts';

export const RATE = rate(48_000);
export const LOST = 'concealed in every read';
const FRAMES = 48_000 * 600;
const DIGESTS = { file: { sha256: 'ab'.repeat(32) }, audio: { sha256: 'cd'.repeat(32) } };

export function sampleFinding(kind: string, start: number, length: number, channels: readonly number[] = [1]): Finding {
  return {
    detector: 'concealment',
    version: 3,
    kind,
    channels,
    start,
    length,
    confidence: 0.9996,
    expectedByChance: 0.002,
    measured: length,
    expected: null,
    unit: 'samples',
    detail: {},
  };
}

function verdict(channel: number, question: string, answer: Verdict['answer'], detectionLimit: string): Verdict {
  return { channel, question, answer, confidence: 0.9999, detectionLimit, evidence: {} };
}

export function sampleCapture(path: string, pass: number, channels: readonly number[], events: number): ReportCapture {
  let seed = pass * 977 + channels[0] * 31;
  const next = (below: number) => (seed = (seed * 1_103_515_245 + 12_345) % 2_147_483_648) % below;
  const kinds = ['interpolated', 'held', 'muted', 'repeated', 'clipped'];
  const findings = Array.from({ length: events }, () =>
    sampleFinding(kinds[next(5)], next(FRAMES - 9000), 1 + next(9000), [1 + next(2)]),
  );
  return {
    path,
    pass,
    deck: 'bench-2',
    recorder: path.includes('north') ? 'north' : 'south',
    channels,
    declaredOffset: null,
    notes: null,
    container: 'wave',
    frames: FRAMES,
    rate: RATE,
    containerBits: 24,
    readAs: path.includes('p2-south') ? 'partial' : 'whole',
    problems: path.includes('p2-south')
      ? [{ id: 'data-truncated', severity: 'damage', message: 'the data chunk ends early', offset: 82_944_044 }]
      : [],
    digests: DIGESTS,
    findings,
    verdicts: [1, 2].flatMap((c) => [
      verdict(c, 'word-length', 16, 'words used for less than 1 sample in 10 000 000 could not be seen'),
      verdict(c, 'code-book', channels[0] === 3 ? 'dat-12-bit' : 'linear', 'needs 100 000 samples above -40 dBFS'),
      verdict(c, 'recorded', true, 'levels below one step'),
    ]),
  };
}

function placement(capture: number, group: number, offset: number): Placement {
  return {
    capture,
    relation: group ? 'unrelated' : 'bit-equal',
    segments: [{ start: 0, length: FRAMES - offset, offset }],
    driftPpm: 0,
    uncertaintyFrames: 0,
    method: 'exact match of 64-sample words',
    reason: group ? 'no common channel; an overlap channel on both recorders would help' : 'equal in 3 places',
    group,
    gain: 1,
    comparedFrames: 1_000_000,
    differingFrames: 12,
    channelPairs: [[1, 1]],
  };
}

/** Channel runs that cover [0, FRAMES) with holes at the given places. */
export function runsOf(
  channel: number,
  base: ProofState,
  holes: readonly (readonly [start: number, length: number, state: ProofState, reason: string])[],
  frames = FRAMES,
): ProvenanceRun[] {
  const runs: ProvenanceRun[] = [];
  const source = { capture: 0, fileChannel: 1 };
  const plain = base === 'proven' ? 'equal in two independent reads' : 'one read only';
  let at = 0;
  const add = (to: number, state: ProofState, reason: string) => {
    if (to > at) runs.push({ channel, start: at, length: to - at, source, state, reason });
    at = Math.max(at, to);
  };
  for (const [start, length, state, reason] of holes) {
    add(start, base, plain);
    add(start + length, state, reason);
  }
  add(frames, base, plain);
  return runs;
}

function levels(capture: number, fileChannel: number): LevelHistogram {
  const counts = Array.from({ length: 96 }, (_, i) => Math.round(4e5 * Math.exp(-(((i - 70 + capture) / 11) ** 2))));
  return { capture, fileChannel, fromDb: -96, stepDb: 1, counts, below: 1200, peakDb: -0.42 };
}

function group(): ReportGroup {
  const torn: [number, number, ProofState, string] = [48_000 * 123, 14_400, 'unproven', LOST];
  const clogs = Array.from({ length: 40 }, (_, i): [number, number, ProofState, string] => [
    48_000 * 200 + i * 200_000,
    1600,
    'chosen',
    'other read concealed',
  ]);
  return {
    group: 0,
    start: 0,
    length: FRAMES,
    rate: RATE,
    runs: [
      ...runsOf(1, 'proven', [[48_000 * 44, 5760, 'unproven', LOST], ...clogs]),
      ...runsOf(2, 'proven', clogs),
      ...runsOf(3, 'proven', [torn, [48_000 * 500, 48_000 * 50, 'unproven', 'reads differ']]),
      ...runsOf(4, 'proven', [torn]),
      ...runsOf(5, 'unproven', []),
      ...runsOf(6, 'unproven', []),
    ],
    agreement: [1, 2, 3, 4].map((channel) => ({
      channel,
      a: { capture: channel > 2 ? 1 : 0, fileChannel: 1 + ((channel + 1) % 2) },
      b: { capture: channel > 2 ? 3 : 2, fileChannel: 1 + ((channel + 1) % 2) },
      comparedFrames: FRAMES - 9600,
      equalFrames: FRAMES - 80_000,
    })),
    master: {
      path: 'master.wav',
      container: 'wave',
      digests: DIGESTS,
      bits: 16,
      rate: RATE,
      headerRateHz: 48_000,
      frames: FRAMES,
      channels: [1, 2, 3, 4, 5, 6],
    },
  };
}

export function sampleInput(): ReportInput {
  return {
    date: '2026-08-01T12:00:00Z',
    tape: {
      id: 'HB-0417',
      format: 'eight-track-8mm',
      formatLabel: 'Eight-track digital multitrack on 8 mm cassette',
      system: '525/60',
      word: 16,
      rate: RATE,
      notes: 'Label reads "evening, part 2".',
    },
    captures: [
      sampleCapture('p1-north.wav', 1, [1, 2], 900),
      sampleCapture('p1-south.wav', 1, [3, 4], 40),
      sampleCapture('p2-north.wav', 2, [1, 2], 12),
      sampleCapture('p2-south.wav', 2, [3, 4], 25),
      sampleCapture('p3-north.wav', 3, [5, 6], 8),
    ],
    alignment: {
      reference: 0,
      placements: [0, 1, 2, 3, 4].map((i) => placement(i, 0, i * 4800)),
      slips: [{ capture: 2, at: 9_600_000, lostFrames: 24, reason: 'offset changes by 24 at this frame' }],
      loops: [],
      groups: [[0, 1, 2, 3, 4]],
    },
    groups: [group()],
    isLost: (run) => run.source === null || run.reason === LOST,
    detectors: [
      { id: 'concealment', version: 3, label: 'Concealment', settings: { leastRun: 8, chance: 0.01 } },
      { id: 'word-length', version: 1, label: 'Word length', settings: {} },
    ],
    levels: [0, 1, 2, 3, 4].flatMap((capture) => [levels(capture, 1), levels(capture, 2)]),
    codeBooks: [
      {
        capture: 1,
        fileChannel: 1,
        bits: 16,
        answer: 'dat-12-bit',
        measured: Array.from({ length: 160 }, (_, i) => {
          const magnitude = Math.round(16 * 2 ** (i / 14.6));
          return { magnitude, spacing: 2 ** Math.max(0, Math.floor(Math.log2(magnitude / 512))) };
        }),
        law: [0, 512, 1024, 2048, 4096, 8192, 16_384].flatMap((from, i) => [
          { magnitude: Math.max(1, from), spacing: 2 ** i },
          { magnitude: from === 0 ? 512 : from * 2, spacing: 2 ** i },
        ]),
        nearZero: Array.from({ length: 33 }, (_, i) => ({ value: i - 16, count: 9000 - 400 * Math.abs(i - 16) })),
      },
    ],
  };
}
