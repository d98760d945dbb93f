// Truth: the table of ITU-R BS.468-4 (nominal response, dB; certainty M) within its tolerances of at least 0.2 dB in the middle of the band,
// and the table of A-weighting of IEC 61672-1 (nominal frequencies, 0.1 dB).
import { expect, it } from 'vitest';
import { aWeight, ccirRmsWeight, itu468 } from './weighting.ts';

const db = (power: number) => 10 * Math.log10(power);

it.each([
  [31.5, -29.9],
  [63, -23.9],
  [100, -19.8],
  [200, -13.8],
  [400, -7.8],
  [800, -1.9],
  [1000, 0],
  [2000, 5.6],
  [3150, 9],
  [4000, 10.5],
  [5000, 11.7],
  [6300, 12.2],
  [7100, 12],
  [8000, 11.4],
  [9000, 10.1],
  [10_000, 8.1],
  [12_500, 0],
  [14_000, -5.3],
  [16_000, -11.7],
  [20_000, -22.2],
  [31_500, -42.7],
])('BS.468 at %d Hz is %d dB', (hz, expected) => {
  expect(Math.abs(db(itu468(hz)) - expected)).toBeLessThan(0.1);
});

it.each([
  [31.5, -39.4],
  [63, -26.2],
  [125, -16.1],
  [250, -8.6],
  [500, -3.2],
  [1000, 0],
  [2000, 1.2],
  [4000, 1],
  [8000, -1.1],
  [16_000, -6.6],
])('A at %d Hz is %d dB', (hz, expected) => {
  expect(Math.abs(db(aWeight(hz)) - expected)).toBeLessThan(0.15);
});

it('the curve of AES17 is 0 dB at 2 kHz', () => {
  expect(Math.abs(db(ccirRmsWeight(2000)))).toBeLessThan(0.05);
});
