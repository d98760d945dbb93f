// Evidence from the real detectors over signals whose levels and values are known: a two-level square wave, and every code
// of the 12-bit law. Malformed evidence must give no chart.
import { expect, test } from 'vitest';
import { blocksOf, memorySource, rate } from '../base/index.ts';
import { DETECTORS, Examination, type Verdict } from '../examine/index.ts';
import { expand } from '../signal/index.ts';
import { nonlinear12 } from '../tape/index.ts';
import { codeBookCharts, levelHistograms } from './evidence-charts.ts';
import { sampleCapture } from './testing/sample-report.ts';

async function examined(plane: Int32Array, bits: number) {
  const source = memorySource([plane], { name: 'made', rate: rate(32_000), bits });
  const examination = new Examination(source.info, DETECTORS);
  for (const block of blocksOf([plane], 4096)) examination.push(block);
  const { verdicts } = await examination.finish(source);
  return [{ ...sampleCapture('made.wav', 1, [1], 0), containerBits: bits, verdicts }];
}

test('levels of a wave that is half at -6 dB and half at -20 dB', async () => {
  const plane = Int32Array.from({ length: 2000 }, (_, i) => (i % 2 ? 1 : -1) * (i < 1000 ? 16_384 : 3277));
  const [histogram] = levelHistograms(await examined(plane, 16));
  expect(histogram).toMatchObject({ capture: 0, fileChannel: 1, fromDb: -120, stepDb: 1, below: 0, peakDb: -6.02 });
  const filled = histogram.counts.flatMap((count, i) => (count ? [[histogram.fromDb + i, count]] : []));
  expect(filled.map(([, count]) => count)).toEqual([1000, 1000]);
  // the detector counts in eighths of an octave, so that a level may fall 1 dB beside
  expect(Math.abs(filled[0][0] + 20)).toBeLessThanOrEqual(1);
  expect(Math.abs(filled[1][0] + 6.5)).toBeLessThanOrEqual(1);
});

test('the measured spacings of a 12-bit recording lie on the stairs of its law', async () => {
  const codes = Array.from({ length: 60_000 }, (_, i) => ((i * 1237) % 4096) - 2048);
  const plane = Int32Array.from(codes, (code) => expand(nonlinear12, code));
  const [chart] = codeBookCharts(await examined(plane, 16));
  expect(chart.answer).toBe('nonlinear-12');
  expect(chart.law.length).toBe(2 * nonlinear12.segments.length);
  for (const { magnitude, spacing } of chart.measured) {
    const stairs = chart.law.filter((_, i) => i % 2 === 0 && chart.law[i].magnitude <= Math.max(1, magnitude));
    expect(spacing).toBe(stairs.at(-1)?.spacing);
  }
});

test('evidence of another shape gives no chart', () => {
  const verdict = (question: string, evidence: Verdict['evidence']): Verdict => {
    return { channel: 1, question, answer: 'x', confidence: 1, detectionLimit: '', evidence };
  };
  const verdicts = [
    verdict('peak-level', {}),
    verdict('peak-level', { histogramDb: ['a'] }),
    verdict('code-book', { chart: [1, 2] }),
    verdict('code-book', { chart: { spacing: 'x', nearZero: [[1]] } }),
  ];
  const captures = [{ ...sampleCapture('a.wav', 1, [1], 0), verdicts }];
  expect(levelHistograms(captures)).toEqual([]);
  expect(codeBookCharts(captures)).toEqual([]);
  const odd = verdict('code-book', {
    chart: { spacing: [[4, 4]], nearZero: [] },
    bestLaw: 'no-such',
    isCompanded: true,
  });
  expect(codeBookCharts([{ ...captures[0], verdicts: [odd] }])[0].law).toEqual([]);
});
