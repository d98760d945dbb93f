// The true-peak detector: one answer per channel, evidence and words. The numbers themselves are tested beside the kernel
// (signal/true-peak.test.ts).
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { examineSource } from '../index.ts';
import { truePeak } from './true-peak.ts';

async function examine(planes: Int32Array[], bits = 16, hz = 48_000) {
  return (await examineSource(memorySource(planes, { name: 'test', rate: rate(hz), bits }), [truePeak])).verdicts;
}

/** A sine of a quarter of the rate whose crests lie half way between samples: 3.01 dB above them. Faded in and out. */
function between(amplitude: number): Int32Array {
  const frames = 20_000;
  return Int32Array.from({ length: frames }, (_, i) => {
    const gain = Math.min(1, i / 5000, (frames - i) / 5000);
    return Math.round(amplitude * gain * Math.sin((Math.PI / 2) * i + Math.PI / 4));
  });
}

describe('true peak', () => {
  it('answers per channel', async () => {
    const verdicts = await examine([between(2 ** 14), new Int32Array(20_000)]);
    expect(verdicts).toMatchObject([
      { channel: 1, question: 'true-peak', confidence: 1, evidence: { unit: 'dBTP', samplePeakDb: -9.03 } },
      { channel: 2, question: 'true-peak', answer: 'digital silence', evidence: { frame: null, samplePeakDb: null } },
    ]);
    // 0.05: the ripple of the interpolator and a place up to a sixteenth of a sample from the crest
    expect(Math.abs(Number(verdicts[0].answer) + 6.02)).toBeLessThan(0.05);
  });

  it('can be above full scale', async () => {
    const [verdict] = await examine([between(1.4 * 2 ** 23)], 24);
    expect(Number(verdict.answer)).toBeCloseTo(2.92, 1);
  });

  it('says how far the reading may be low', async () => {
    const plane = between(1000);
    expect((await examine([plane]))[0].detectionLimit).toContain(
      '8 places per sample: a tone up to 20.2 kHz at most 0.15',
    );
    expect((await examine([plane], 16, 96_000))[0].detectionLimit).toContain('4 places per sample');
  });

  it('has nothing to say about no frames', async () => {
    expect(await examine([new Int32Array(0)])).toEqual([]);
  });
});
