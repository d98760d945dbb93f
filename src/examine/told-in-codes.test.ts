// Rows of means in samples of a channel whose law is sure: kept only beside samples outside the book.
import { expect, it } from 'vitest';
import type { Finding, Verdict } from './finding.ts';
import { toldInCodes } from './told-in-codes.ts';

const finding = (detector: string, start: number, unit = 'samples', channel = 1): Finding => ({
  ...{ detector, version: 1, kind: 'interpolated', channels: [channel], start, length: 10, confidence: 0.99 },
  ...{ expectedByChance: 0.01, measured: 5, expected: null, unit, detail: {} },
});
const verdict = (answer: string, isCompanded: boolean): Verdict => ({
  ...{ channel: 1, question: 'code-book', answer, confidence: 1, detectionLimit: '', evidence: { isCompanded } },
});
const row = finding('interpolated', 100);

it.each([
  ['in the book of a sure law', [row], verdict('nonlinear-12', true), 0],
  [
    'beside a sample outside the book',
    [row, finding('code-book', 105, 'samples outside the book')],
    verdict('nonlinear-12', true),
    2,
  ],
  [
    'beside one of another channel',
    [row, finding('code-book', 105, 'samples outside the book', 2)],
    verdict('nonlinear-12', true),
    1,
  ],
  ['of a law that nobody can tell', [row], verdict('cannot tell', true), 1],
  ['of linear sound', [row], verdict('linear', false), 1],
  ['told by its codes', [finding('code-book', 100, 'samples, means in codes')], verdict('nonlinear-12', true), 1],
] as const)('a row %s', (_, findings, said, kept) => {
  expect(toldInCodes(findings, [said])).toHaveLength(kept);
});
