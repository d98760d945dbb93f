// The words against the bytes: the same samples for every layout that is read by words, and no other layout is.
import { describe, expect, it } from 'vitest';
import { deinterleave, LITTLE_ENDIAN_TAKE } from './pcm-planes.ts';
import { deinterleaveWords } from './pcm-words.ts';

const FRAMES = 1301;
const TO = 5;

function bytesOf(length: number, seed: number): Uint8Array {
  let state = seed;
  return Uint8Array.from({ length }, () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state >>> 24;
  });
}

function planesOf(channels: number): Int32Array[] {
  return Array.from({ length: channels }, () => new Int32Array(FRAMES + TO));
}

describe('samples by words', () => {
  for (const width of [2, 3] as const) {
    for (const channels of [1, 2, 3, 4, 6, 8, 12]) {
      it(`${channels} channels of ${8 * width} bits are those that the bytes give`, () => {
        const take = LITTLE_ENDIAN_TAKE[width === 2 ? 16 : 24];
        const bytes = bytesOf(4 + FRAMES * channels * width, channels);
        const [quick, plain] = [planesOf(channels), planesOf(channels)];
        const done = deinterleaveWords(bytes, 4, FRAMES, take, quick, TO);
        deinterleave(bytes, 4, done, take, width, plain, TO);
        expect(quick).toEqual(plain);
        const isByWords = width === 2 || channels === 2 || channels % 4 === 0;
        const multiple = width === 2 ? 1 : channels === 2 ? 2 : 4;
        expect(done).toBe(isByWords ? FRAMES - (FRAMES % multiple) : 0);
      });
    }
  }

  it('leaves alone what does not lie on a word, and other encodings', () => {
    const bytes = bytesOf(64, 1);
    expect(deinterleaveWords(bytes, 1, 2, LITTLE_ENDIAN_TAKE[24], planesOf(2), 0)).toBe(0);
    expect(deinterleaveWords(bytes, 1, 2, LITTLE_ENDIAN_TAKE[16], planesOf(2), 0)).toBe(0);
    expect(deinterleaveWords(bytes, 0, 2, LITTLE_ENDIAN_TAKE[32], planesOf(2), 0)).toBe(0);
  });
});
