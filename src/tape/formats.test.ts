// All formats as data: numbers that must fit each other, marks and sources that must exist, look-ups and their errors, printed rows.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { rate, rateHz, TapeproofError } from '../base/index.ts';
import { describeFormat, findFormat, findLaw, listFormats, parseSystem, type TapeFormat } from './index.ts';

const FIELD_HZ = { '525/60': rate(60_000, 1001), '625/50': rate(50) };

/** Every fact and loss pattern inside a format. */
function factsOf(data: unknown): readonly Record<string, unknown>[] {
  if (typeof data !== 'object' || data === null) return [];
  const own = 'certainty' in data && 'source' in data ? [data as Record<string, unknown>] : [];
  return [...own, ...Object.values(data).flatMap(factsOf)];
}

function mean(format: TapeFormat, unit: string): number {
  const found = format.units.find((one) => one.name === unit) ?? expect.fail(`${format.id} has no ${unit}`);
  return rateHz(found.length.value.mean);
}

describe('every format', () => {
  const formats = listFormats().map((format) => [format.id, format] as const);

  it.each(formats)('%s is frozen, marked and sourced', (_, format) => {
    expect(Object.isFrozen(format) && Object.isFrozen(format.signal.rates.value)).toBe(true);
    const keys = new Set(readFileSync(new URL('../../docs/sources.md', import.meta.url), 'utf8').match(/\bR\d+\b/g));
    for (const fact of factsOf(format)) {
      expect(['S', 'T', 'M', 'D']).toContain(fact.certainty);
      expect(fact.certainty === 'D').toBe(fact.weakest !== undefined);
      for (const key of String(fact.source).split(' ')) {
        expect(key === 'D' || key === 'memory' || keys.has(key), `source ${key}`).toBe(true);
      }
      if (fact.certainty === 'M') expect(fact.source).toBe('memory');
    }
  });

  it.each(formats)('%s names laws that exist and fit its words', (_, { signal }) => {
    const ids = [signal.law.value, ...signal.rivalLaws].filter((id) => id !== 'linear');
    for (const law of ids.map(findLaw)) {
      expect(law.codeBits).toBe(signal.tapeBits.value);
      expect(law.linearBits).toBe(signal.linearBits.value);
    }
    if (ids.length === 0) expect(signal.linearBits.value).toBe(signal.tapeBits.value);
  });

  it.each(formats)('%s prints in full', (_, format) => {
    const groups = describeFormat(format);
    for (const row of groups.flatMap((group) => group.rows)) {
      expect(row.value).not.toMatch(/undefined|NaN|\[object/);
      expect(row.certainty).toMatch(/^(S|T|M|D\((S|T|M)\)|unknown)$/);
    }
    const printed = groups.flatMap((group) => group.rows).length;
    expect(printed).toBeGreaterThanOrEqual(format.details.length + format.cautions.length + 12);
  });
});

describe('the numbers fit', () => {
  it('8 mm: a field holds 525 or 625 samples at twice the line rate', () => {
    for (const format of listFormats().filter((one) => one.family.startsWith('eight-mm') && one.system)) {
      const field = FIELD_HZ[format.system as '525/60'];
      expect(mean(format, 'field') * rateHz(field)).toBeCloseTo(rateHz(format.signal.rates.value[0]), 9);
      expect(mean(format, 'field')).toBe(format.system === '525/60' ? 525 : 625);
    }
  });

  it('DV: mean samples per frame times the frame rate is the sampling rate, and the cycle has that mean', () => {
    for (const format of listFormats().filter((one) => one.family.startsWith('dv'))) {
      const frameHz = rateHz(FIELD_HZ[format.system as '525/60']) / 2;
      const length = format.units.find((unit) => unit.name === 'frame')?.length.value;
      if (!length) expect.fail(format.id);
      expect(rateHz(length.mean) * frameHz).toBeCloseTo(rateHz(format.signal.rates.value[0]), 6);
      expect(length.min).toBeLessThanOrEqual(rateHz(length.mean));
      expect(length.max).toBeGreaterThanOrEqual(rateHz(length.mean));
      const { cycle } = length;
      if (cycle) expect(cycle.reduce((a, b) => a + b, 0) / cycle.length).toBeCloseTo(rateHz(length.mean), 9);
    }
  });

  it('DAT: a frame is two drum half-turns; 5760 bytes at most', () => {
    for (const format of listFormats().filter((one) => one.family === 'dat')) {
      const { drum, signal } = format;
      const rpm = 'value' in drum.revolutionsPerMinute ? drum.revolutionsPerMinute.value : 0;
      expect(mean(format, 'frame') * (rpm / 60)).toBeCloseTo(rateHz(signal.rates.value[0]), 6);
      expect((mean(format, 'frame') * signal.channels.value * signal.tapeBits.value) / 8).toBeLessThanOrEqual(5760);
    }
  });

  it('PCM adaptor: 735 or 882 samples per field', () => {
    expect(rateHz(findFormat('pcm-adaptor-525').signal.rates.value[0])).toBeCloseTo(44_055.944, 3);
    expect(mean(findFormat('pcm-adaptor-525'), 'field') * rateHz(FIELD_HZ['525/60'])).toBeCloseTo(44_055.944, 3);
    expect(mean(findFormat('pcm-adaptor-525-mono'), 'field') * 60).toBe(44_100);
    expect(mean(findFormat('pcm-adaptor-625-16bit'), 'field') * 50).toBe(44_100);
  });
});

describe('findFormat', () => {
  it.each([
    ['eight-track-8mm', '525/60', {}, 'eight-track-8mm'],
    ['eight-track-8mm', '525/60', { word: 24 }, 'eight-track-8mm-24bit'],
    ['eight-track-svhs', undefined, {}, 'eight-track-svhs'],
    ['eight-mm-pcm', '625/50', {}, 'eight-mm-pcm-625'],
    ['eight-mm-six-programmes', '525/59.94', { rate: rate(32000) }, 'eight-mm-six-programmes-525'],
    ['dv', '525/60', { rate: rate(48000) }, 'dv-525-48k'],
    ['dv-8mm', '625', { rate: rate(32000), word: 12 }, 'dv-8mm-625-32k-4ch'],
    ['DAT-LP-32k', undefined, {}, 'dat-lp-32k'],
    ['dat', undefined, { rate: rate(48000), word: 16 }, 'dat-48k'],
    ['pcm-adaptor', '625/50', { word: 16 }, 'pcm-adaptor-625-16bit'],
    ['pcm-adaptor-525', '525/60', {}, 'pcm-adaptor-525'],
  ] as const)('%s %s %j is %s', (id, system, hints, expected) => {
    expect(findFormat(id, system, hints).id).toBe(expected);
  });

  it('finds every format by its own id', () => {
    for (const format of listFormats()) expect(findFormat(format.id)).toBe(format);
  });

  it.each([
    ['eigth-track-8mm', undefined, /did you mean eight-track-8mm/],
    ['dat-48', undefined, /dat-48k/],
    ['dat', undefined, /dat-48k, dat-44k1/],
    ['eight-mm-pcm-525', '625/50', /expected: {2}.*525\/60|525\/60/],
    ['dv', '405/50', /525\/60 or 625\/50/],
    ['zzz', undefined, /list the formats/],
  ] as const)('refuses %s %s helpfully', (id, system, says) => {
    try {
      findFormat(id, system);
    } catch (error) {
      if (!(error instanceof TapeproofError)) throw error;
      expect(error.kind).toBe('input');
      expect(`${error.detail.expected} ${error.detail.next}`).toMatch(says);
      return;
    }
    expect.fail('found something');
  });

  it('reads systems as people write them', () => {
    expect([' 525/60 ', '525', '625 / 50'].map(parseSystem)).toEqual(['525/60', '525/60', '625/50']);
  });
});
