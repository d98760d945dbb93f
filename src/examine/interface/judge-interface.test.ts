// Flags against measurements whose truth the test made: what must be a contradiction, what must not, and what a deck's validity bit means in
// logs made by decks of known habit.
import { describe, expect, it } from 'vitest';
import { type Rate, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import { parseStatusLog, typedStatus } from '../../tape/index.ts';
import type { Finding, Verdict } from '../finding.ts';
import { judgeInterface } from './judge-interface.ts';

const verdict = (question: string, answer: Verdict['answer'], channel = 1, confidence = 0.999): Verdict => ({
  ...{ channel, question, answer, confidence, detectionLimit: '', evidence: {} },
});
const loss = (start: number, length = 8): Finding => ({
  ...{ detector: 'interpolated', version: 1, kind: 'interpolated', channels: [1], start, length, confidence: 0.99 },
  ...{ expectedByChance: 0, measured: null, expected: null, unit: '', detail: {} },
});

function judged(status: string, verdicts: readonly Verdict[] = [], at: Rate = rate(48_000)) {
  const reading = judgeInterface(typedStatus(status, 1000), 'typed', { rate: at, channels: 2, verdicts, findings: [] });
  return { about: reading.contradictions.map(({ about }) => about), ...reading };
}

describe('rate', () => {
  it.each([
    ['consumer rate=48000', rate(48_000), []],
    ['consumer rate=32000', rate(48_000), ['rate']],
    ['professional rate=44100', rate(48_000), ['rate']],
    ['professional rate=48000 rate-scaling=#1', rate(48_000_000, 1001), []],
    ['professional rate=48000 rate-scaling=#1', rate(48_000), ['rate']],
    ['professional', rate(48_000), []],
    // No code names these rates: the nearest is no contradiction.
    ['consumer rate=32000', rate(31_250), []],
    ['consumer rate=32000', rate(4_500_000, 143), []],
    ['consumer rate=44100', rate(6_300_000, 143), []],
    ['consumer rate=48000', rate(4_500_000, 143), ['rate']],
  ])('%s in a file of %j', (status, at, about) => {
    expect(judged(status, [], at).about).toEqual(about);
  });

  it('says that an empty consumer block is weak', () => {
    const { contradictions } = judged('00 00 00 00');
    expect(contradictions[0].confidence).toBe(0.5);
    expect(contradictions[0].text).toContain('fills nothing in');
  });
});

describe('word length', () => {
  it.each([
    ['professional auxiliary-bits=audio word=#5', 24, [], 0],
    ['professional auxiliary-bits=audio word=#5', 16, [], 1],
    ['professional word=#5', 24, ['word'], 0],
    ['consumer rate=48000 longest-word=24 word=20 (16)', 24, ['word'], 0],
    ['consumer rate=48000 word=20 (16)', 16, [], 0],
    ['consumer rate=48000 word=20 (16)', 'cannot tell', [], 0],
    // Sources disagree about this code: it says nothing.
    ['professional auxiliary-bits=audio word=#6', 24, [], 0],
  ])('%s, samples of %s bits', (status, bits, about, remarks) => {
    const found = judged(status, [verdict('word-length', bits)]);
    expect([found.about, found.remarks.length]).toEqual([about, remarks]);
  });
});

describe('emphasis and data', () => {
  it.each([
    ['consumer rate=48000 emphasis=50/15', verdict('emphasis', 'off'), ['emphasis']],
    ['consumer rate=48000 emphasis=50/15', verdict('emphasis', 'on'), []],
    ['consumer rate=48000 emphasis=50/15', verdict('emphasis', 'off', 1, 0.8), []],
    ['professional emphasis=none', verdict('emphasis', 'on'), ['emphasis']],
    ['professional emphasis=not indicated', verdict('emphasis', 'on'), []],
    ['professional', verdict('is-audio', false), ['non-audio']],
    ['professional non-audio=not linear PCM', verdict('is-audio', true), ['non-audio']],
    ['professional non-audio=not linear PCM', verdict('is-audio', false), []],
  ])('%s against %j', (status, found, about) => {
    expect(judged(status, [found]).about).toEqual(about);
  });

  it('warns of taking emphasis off twice', () => {
    const { contradictions } = judged('consumer rate=48000 emphasis=50/15', [verdict('emphasis', 'removed')]);
    expect(contradictions[0].text).toContain('twice');
  });
});

it('a block with a wrong check byte says nothing else', () => {
  const { contradictions } = judged(`01${'00'.repeat(22)}33`);
  expect(contradictions.map(({ about }) => about)).toEqual(['check']);
  expect(judged(`41${'00'.repeat(22)}00`, [], rate(32_000)).about).toEqual(['check']);
});

it('channels of one interface that differ, and a change of rate', () => {
  const text = 'frame,channel,status\n0,1,consumer rate=48000\n0,2,consumer rate=44100\n500,1,consumer rate=44100\n';
  const log = parseStatusLog(text, 'x', { rate: rate(48_000), frames: 1000, channels: 2 });
  const { contradictions, remarks } = judgeInterface(log, 'x', {
    ...{ rate: rate(48_000), channels: 2, verdicts: [], findings: [] },
  });
  const unequal = contradictions.filter(({ about }) => about === 'channels');
  expect(unequal.map(({ start, length }) => [start, length])).toEqual([[0, 500]]);
  expect(remarks).toEqual(['the flagged rate changes at frame 500: 48000 to 44100']);
});

describe('the validity bit', () => {
  const MINUTES = 10;
  const FRAMES = MINUTES * 60 * 48_000;

  /** A deck with uncorrectable errors that it conceals (a share of them visible) and others that it corrects. */
  function deck(habit: 'any' | 'uncorrectable' | 'never' | 'random', seed: number, losses = 40, visible = 0.95) {
    const random = new Random(seed);
    const spot = () => Math.floor(random.uniform() * (FRAMES - 400));
    const concealed = Array.from({ length: losses }, spot);
    const corrected = Array.from({ length: 300 }, spot);
    const flagged = {
      any: [...concealed, ...corrected],
      uncorrectable: concealed,
      never: [],
      random: corrected,
    }[habit];
    const lines = flagged.map((at) => `${Math.floor(at / 192) * 192},${1 + Math.floor(random.uniform() * 30)}`);
    const text = `frame,invalid\n0,0\n${FRAMES - 192},0\n${lines.join('\n')}`;
    const log = parseStatusLog(text, 'x', { rate: rate(48_000), frames: FRAMES, channels: 2 });
    const findings = concealed.filter(() => random.uniform() < visible).map((at) => loss(at));
    return judgeInterface(log, 'x', { rate: rate(48_000), channels: 2, verdicts: [], findings }).validity[0];
  }

  it.each([
    ['any', 'any error'],
    ['uncorrectable', 'uncorrectable only'],
    ['never', 'never'],
    ['random', 'unrelated'],
  ] as const)('a deck that flags %s, over 50 tapes: %s or "cannot tell", never anything else', (habit, expected) => {
    const habits = Array.from({ length: 50 }, (_, seed) => deck(habit, seed).habit);
    expect(new Set(habits.filter((one) => one !== 'cannot tell'))).toEqual(new Set([expected]));
    expect(habits.filter((one) => one === expected).length).toBeGreaterThan(45);
  });

  it('counts the agreement in per cent', () => {
    const found = deck('uncorrectable', 3, 40, 1);
    expect(found).toMatchObject({ losses: 40, lossesFlagged: 40, flags: 40, agreementPercent: 100 });
  });

  it('cannot tell from four losses', () => {
    expect(deck('uncorrectable', 1, 4, 1).habit).toBe('cannot tell');
  });
});
