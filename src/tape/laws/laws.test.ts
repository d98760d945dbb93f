// The law tables as data: continuity, use of all codes, ids and errors. Their arithmetic is tested in signal/companding.test.ts.
import { describe, expect, it } from 'vitest';
import { TapeproofError } from '../../base/index.ts';
import { allEightMmBreaks, areEightMmBreaks, eightMm, findLaw, listTapeLaws } from './index.ts';

describe('laws', () => {
  it.each(['nonlinear-12', 'eight-mm', 'eight-mm-32-64-256', 'g711-a-law', 'g711-mu-law'])('%s is continuous', (id) => {
    const { segments } = findLaw(id);
    for (let n = 1; n < segments.length; n++) {
      const before = segments[n - 1];
      const codes = segments[n].code - before.code;
      expect(segments[n].from).toBe(before.from + codes * before.step);
    }
  });

  it('uses every 8 mm code magnitude whatever the break points', () => {
    let count = 0;
    for (let a = 1; a < 512; a++) {
      for (let b = a + 1; b < 512; b++) {
        const breaks = [a, b, 512 - 4 * a - 2 * b] as const;
        if (!areEightMmBreaks(breaks)) continue;
        count++;
        const last = eightMm({ breaks }).segments[3];
        expect(last.code + (512 - last.from) / last.step).toBe(128);
      }
    }
    expect(allEightMmBreaks().length).toBe(count);
    expect(allEightMmBreaks().every(areEightMmBreaks)).toBe(true);
  });

  it('finds laws by id, with variants', () => {
    expect(findLaw('eight-mm').segments).toEqual(findLaw('eight-mm-16-64-320').segments);
    expect(findLaw('eight-mm-32-64-256-sign-magnitude-mid-step')).toMatchObject({
      id: 'eight-mm-32-64-256-sign-magnitude-mid-step',
      mirror: 'sign-magnitude',
      expansion: 'mid-step',
    });
    for (const law of listTapeLaws()) expect(findLaw(law.id)).toEqual(law);
  });

  it.each(['mu', 'eight-mm-1-2-3', 'eight-mm-16-64-321'])('refuses %s', (id) => {
    expect(() => findLaw(id)).toThrow(TapeproofError);
  });
});
