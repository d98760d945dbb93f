import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import { countLost, damageOf, joinDamage, lostSpans } from './damage.ts';
import { chanceLosses, lossAt, tornSpot } from './random-damage.ts';

describe('masks and spans', () => {
  it('mark what is lost, the first layer wins, spans tell the hull', () => {
    const damage = damageOf(2, 100, [
      [lossAt(1, 10, 9, 'dust', 4)],
      [lossAt(1, 12, 3, 'scratch'), lossAt(2, 95, 20, 'end')],
    ]);
    expect(Array.from(damage.masks[0].subarray(9, 20))).toEqual([0, 1, 0, 2, 2, 1, 0, 0, 0, 1, 0]);
    expect(lostSpans(damage)).toEqual([
      { channel: 1, start: 10, length: 9, samples: 3, pattern: 'period 4', cause: 'dust' },
      { channel: 1, start: 12, length: 3, samples: 3, pattern: 'run', cause: 'scratch' },
      { channel: 2, start: 95, length: 5, samples: 5, pattern: 'run', cause: 'end' },
    ]);
  });

  it('joins the damage of the tape and of a pass', () => {
    const tape = damageOf(3, 60, [tornSpot(3, 20, 5)]);
    const pass = damageOf(3, 60, [[lossAt(2, 22, 8, 'deck')]]);
    const both = joinDamage(tape, pass);
    expect(both.masks.map(countLost)).toEqual([5, 10, 5]);
    expect(lostSpans(both)).toHaveLength(4);
    expect(both.masks[1][22]).toBe(1);
    expect(both.masks[1][27]).toBe(2);
  });
});

describe('losses by chance', () => {
  const spec = { channels: [1, 2], frames: 50_000, count: 200, minFrames: 1, maxFrames: 12, cause: 'dropout' };
  it('gives the stated number, never touching, of the stated sizes', () => {
    const damage = damageOf(2, spec.frames, [chanceLosses(spec, new Random(4))]);
    const spans = lostSpans(damage);
    expect(spans).toHaveLength(400);
    expect(new Set(spans.map((s) => s.samples)).size).toBe(12);
    expect(spans.reduce((sum, s) => sum + s.samples, 0)).toBe(
      damage.masks.reduce((sum, mask) => sum + countLost(mask), 0),
    );
    const touching = spans.filter(
      (s, k) => k > 0 && s.channel === spans[k - 1].channel && s.start <= spans[k - 1].start + spans[k - 1].length,
    );
    expect(touching).toEqual([]);
  });

  it('depends on the seed and nothing else', () => {
    const starts = (seed: number) => chanceLosses(spec, new Random(seed)).map((loss) => loss.start);
    expect(starts(1)).toEqual(starts(1));
    expect(starts(1)).not.toEqual(starts(2));
  });

  it('strikes all channels together when told so', () => {
    const starts = (channel: number) =>
      chanceLosses({ ...spec, together: true }, new Random(1))
        .filter((l) => l.channel === channel)
        .map((l) => l.start);
    expect(starts(1)).toEqual(starts(2));
  });
});
