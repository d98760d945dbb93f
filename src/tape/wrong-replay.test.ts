// Advice for every format, and its arithmetic worked out again from the formats' own rates. Tolerance: the last printed digit.
import { expect, it } from 'vitest';
import { rateHz } from '../base/index.ts';
import { findFormat, listFormats } from './find-format.ts';
import { misplays } from './wrong-replay.ts';

const cents = (ratio: number) => (1200 * Math.log2(ratio)).toFixed(1);
const textOf = (id: string) =>
  misplays(findFormat(id))
    .map(({ when, effect }) => `${when}: ${effect.value}`)
    .join('\n');

it('every format has advice, and what comes from memory says so', () => {
  for (const format of listFormats()) {
    expect(misplays(format).length, format.id).toBeGreaterThan(0);
    for (const { effect } of misplays(format)) expect(effect.source === 'memory').toBe(effect.certainty === 'M');
  }
});

it('the ratios', () => {
  const [r525, r625] = ['eight-mm-pcm-525', 'eight-mm-pcm-625'].map((id) =>
    rateHz(findFormat(id).signal.rates.value[0]),
  );
  expect(textOf('eight-mm-pcm-525')).toContain((r525 / r625).toFixed(5));
  expect(textOf('eight-mm-pcm-525')).toContain(`${cents(r525 / r625)} cent`);
  expect(textOf('dat-44k1')).toContain(`${cents(48_000 / 44_100)} cent`);
});

it('only what concerns the format', () => {
  expect(textOf('dv-525-32k-4ch')).toContain('second pair');
  expect(textOf('dv-525-48k')).not.toContain('second pair');
  expect(textOf('dv-525-48k')).not.toContain('analogue 8 mm');
  expect(textOf('eight-mm-pcm-625')).not.toContain('made for pictures');
});
