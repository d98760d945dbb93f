// The loudness detector: answer, evidence and the words about weights, silence and short recordings. The numbers themselves are
// tested beside the kernel (signal/loudness.test.ts).
import { describe, expect, it } from 'vitest';
import { type FrameInfo, memorySource, rate } from '../../base/index.ts';
import { examineSource } from '../index.ts';
import { loudness } from './loudness.ts';

const RATE = rate(48_000);

function tone(seconds: number, amplitude: number): Int32Array {
  return Int32Array.from({ length: seconds * 48_000 }, (_, i) =>
    Math.round(amplitude * Math.sin((2 * Math.PI * 997 * i) / 48_000)),
  );
}

async function examine(planes: Int32Array[], channelWeights: number[] = [], info: Partial<FrameInfo> = {}) {
  const source = memorySource(planes, { name: 'test', rate: RATE, bits: 16, ...info });
  return examineSource(source, [loudness], { settings: { loudness: { channelWeights } } });
}

describe('loudness', () => {
  it('answers once for the file', async () => {
    const { verdicts, findings } = await examine([tone(5, 32_767), new Int32Array(240_000)]);
    expect(findings).toEqual([]);
    expect(verdicts).toHaveLength(1);
    expect(verdicts[0]).toMatchObject({ channel: 0, question: 'loudness', answer: -3.01, confidence: 1 });
    expect(verdicts[0].evidence).toMatchObject({
      unit: 'LUFS',
      integrated: -3.01,
      rangeLu: 0,
      maxMomentary: -3.01,
      maxShortTerm: -3.01,
      gating: { blocks: 47, aboveAbsolute: 47, aboveRelative: 47, relativeGate: -13.01 },
      channelWeights: [1, 1],
      channelsAlone: [-3.01, null],
    });
    expect(verdicts[0].detectionLimit).toContain('every channel has weight 1');
  });

  it('says that it assumed the weights of a multitrack', async () => {
    const one = tone(1, 1000);
    const [verdict] = (await examine([one, one, one])).verdicts;
    expect(verdict.confidence).toBe(0.5);
    expect(verdict.detectionLimit).toContain('assumed: every channel has weight 1');
    // three equal channels are 4.77 dB above one
    expect(verdict.answer).toBeCloseTo(-3.01 + 20 * Math.log10(1000 / 32_768) + 4.77, 1);
  });

  it('uses weights that are given', async () => {
    const one = tone(1, 1000);
    const [verdict] = (await examine([one, one, one], [0, 0, 1.41])).verdicts;
    expect(verdict.answer).toBeCloseTo(-3.01 + 20 * Math.log10(1000 / 32_768) + 1.49, 1);
    expect(verdict).toMatchObject({ confidence: 1, evidence: { channelWeights: [0, 0, 1.41] } });
  });

  it.each([
    ['silence', new Int32Array(48_000), 'none of 7 blocks of 400 ms is above -70 LUFS'],
    ['0.3 s', tone(0.3, 1000), 'shorter than one block'],
    ['nothing', new Int32Array(0), 'shorter than one block'],
  ])('cannot tell for %s', async (_name, plane, reason) => {
    const [verdict] = (await examine([plane])).verdicts;
    expect(verdict).toMatchObject({ answer: 'cannot tell', confidence: 0 });
    expect(verdict.detectionLimit).toContain(reason);
  });

  it('has no range for less than 3 s', async () => {
    const [verdict] = (await examine([tone(2, 1000)])).verdicts;
    expect(verdict.evidence).toMatchObject({ rangeLu: null, maxShortTerm: null });
    expect(verdict.detectionLimit).toContain('no range');
  });

  it.each<[string, number[], Partial<FrameInfo>]>([
    ['2 channel weights were given for 1 channels', [1, 1], {}],
    ['a channel weight is no number of 0 or more', [-1], {}],
    ['the weighting needs a rate of at least 8 kHz', [], { rate: rate(4000) }],
  ])('declines: %s', async (reason, weights, info) => {
    const { verdicts, detectors } = await examine([tone(1, 1000)], weights, info);
    expect(verdicts).toEqual([]);
    expect(detectors[0].declined).toBe(reason);
  });
});
