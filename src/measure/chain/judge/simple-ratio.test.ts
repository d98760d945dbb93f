// Truth: all fractions up to the denominator tried one by one.
import { expect, it } from 'vitest';
import { Random } from '../../../signal/index.ts';
import { simplestDb, simplestFraction, tellingFraction } from './simple-ratio.ts';

it('finds the fraction with the least denominator in an interval', () => {
  const random = new Random(4);
  for (let n = 0; n < 300; n++) {
    const low = 2 * random.uniform();
    const high = low + 10 ** (-1 - 4 * random.uniform());
    const found = simplestFraction(low, high);
    let den = 1;
    while (Math.ceil(low * den) > high * den) den++;
    expect(found?.den).toBe(den);
    expect((found?.num ?? -1) / den).toBeGreaterThanOrEqual(low);
    expect((found?.num ?? 9) / den).toBeLessThanOrEqual(high);
  }
});

it('calls a fraction telling only where the interval is much narrower than the fractions are dense', () => {
  expect(tellingFraction(0.9375 - 1e-9, 0.9375 + 1e-9)).toEqual({ num: 15, den: 16 });
  const third = 10 ** (-3 / 20);
  expect(tellingFraction(third - 1e-8, third + 1e-8)).toBeUndefined();
});

it('finds whole, half and hundredth decibels', () => {
  const around = (db: number) => [10 ** (db / 20) * (1 - 1e-8), 10 ** (db / 20) * (1 + 1e-8)] as const;
  for (const db of [-3, -0.5, 1.25, -17.99]) expect(simplestDb(...around(db))).toBeCloseTo(db, 9);
  expect(simplestDb(...around(-3.1234567))).toBeUndefined();
});
