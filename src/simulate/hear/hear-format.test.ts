// Truth: rounding by arithmetic, the law's own code book, and the same format applied to the whole signal at once (the pieces must leave no seam).
import { describe, expect, it } from 'vitest';
import { type Block, memorySource, rate } from '../../base/index.ts';
import { codeBook, Random, resample } from '../../signal/index.ts';
import { findFormat, findLaw } from '../../tape/index.ts';
import { encodeTape } from '../encode.ts';
import { frameLengthsOf } from '../format-damage.ts';
import { HEARD_BITS, type HeardFormat, hearFormat } from './hear-format.ts';

const SECONDS = 24;
const RATE = 44_100;
const random = new Random(8);
const tone = Int32Array.from({ length: SECONDS * RATE }, (_, n) =>
  Math.round(20_000 * Math.sin((2 * Math.PI * 1234 * n) / RATE) + 300 * random.gaussian()),
);
const source = memorySource([tone, tone.map((x) => -x >> 1)], { name: 'tone', rate: rate(RATE), bits: 16 });

async function heard(format: HeardFormat): Promise<Int32Array[]> {
  const out = [new Int32Array(tone.length), new Int32Array(tone.length)];
  let at = 0;
  for await (const block of hearFormat(source, format) as AsyncIterable<Block>) {
    expect(block.start).toBe(at);
    for (const [c, plane] of block.planes.entries()) out[c].set(plane.subarray(0, block.frames), at);
    at += block.frames;
  }
  expect(at).toBe(tone.length);
  return out;
}

const none = { kind: 'none' } as const;

describe('a format at the rate of the source', () => {
  it('of 16 bits changes nothing', async () => {
    const [first] = await heard({ rate: rate(RATE), wordBits: 16, damage: none });
    expect(first).toEqual(tone.map((x) => x << 8));
  });

  it('of 10 bits rounds to the nearest step', async () => {
    const [first] = await heard({ rate: rate(RATE), wordBits: 10, damage: none });
    expect(first).toEqual(tone.map((x) => Math.floor((x + 32) / 64) << 14));
  });

  it('with a law gives values of its code book only', async () => {
    const law = findLaw('eight-mm');
    const planes = await heard({ rate: rate(RATE), wordBits: 10, law, damage: none });
    const book = new Set([...codeBook(law)].map((x) => x << (HEARD_BITS - 10)));
    for (const plane of planes) expect(plane.every((x) => book.has(x))).toBe(true);
  });
});

describe('a format at another rate', () => {
  it('leaves no seam between its pieces', async () => {
    const law = findLaw('nonlinear-12');
    const planes = await heard({ rate: rate(32_000), wordBits: 16, law, damage: none });
    const filter = { halfTaps: 32, attenuationDb: 80 };
    const wide = Int32Array.from(
      resample(
        Float64Array.from(tone, (x) => x * 256),
        { num: 320, den: 441 },
        filter,
      ),
      Math.round,
    );
    const tape = encodeTape(
      { planes: [wide], bits: 24, rate: rate(32_000) },
      { rate: rate(32_000), wordBits: 16, outputBits: 24, law, shorten: 'round' },
    );
    const whole = resample(Float64Array.from(tape.planes[0]), { num: 441, den: 320 }, filter);
    // a value at the edge of a step may fall either way; away from the ends nearly all are equal to a 24-bit step
    let apart = 0;
    for (let n = 1000; n < tone.length - 1000; n++) if (Math.abs(planes[0][n] - whole[n]) > 2) apart++;
    expect(apart).toBeLessThan(tone.length / 1000);
  });

  it('loses a head for three of ten seconds, and only there', async () => {
    const format = findFormat('dat-48k');
    const [pattern] = format.losses;
    const base = { rate: rate(RATE), wordBits: 16 } as const;
    const damage = { kind: 'head', pattern, frameLengths: frameLengthsOf(format) } as const;
    const [clean, worn] = [await heard({ ...base, damage: none }), await heard({ ...base, damage })];
    const changed = (from: number, to: number) => {
      let count = 0;
      for (let n = from * RATE; n < to * RATE; n++) if (clean[0][n] !== worn[0][n]) count++;
      return count / ((to - from) * RATE);
    };
    // every second sample is replaced; some replacements happen to be right
    for (const start of [4, 14]) expect(changed(start, start + 3)).toBeGreaterThan(0.45);
    for (const [from, to] of [
      [0, 4],
      [7, 14],
      [17, 24],
    ])
      expect(changed(from, to)).toBe(0);
  });

  it('drops out at places that the seed gives', async () => {
    const format: HeardFormat = { rate: rate(RATE), wordBits: 16, damage: { kind: 'dropouts', seed: 3 } };
    const [a, b] = [await heard(format), await heard(format)];
    expect(a).toEqual(b);
    const clean = await heard({ ...format, damage: none });
    const changed = a[0].reduce((count, x, n) => count + (x === clean[0][n] ? 0 : 1), 0);
    expect(changed).toBeGreaterThan(50);
    expect(changed).toBeLessThan(0.02 * tone.length);
  });
});
