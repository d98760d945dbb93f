// The order of many numbers, found digit by digit: no comparisons, no boxes, two index tables of memory. For tables of hashes and
// frames; a sort of the language with a comparison takes many times as long. Not for negative numbers.

const DIGIT_BITS = 11;
const RADIX = 1 << DIGIT_BITS;
/** Digits in the two words of a number. */
const PLACES = [0, 11, 22] as const;
const IS_LITTLE_ENDIAN = new Uint8Array(Uint16Array.of(1).buffer)[0] === 1;

/**
 * Indices by the first key, ascending, then by the second and so on; equal ones stay as they were. Keys are not negative, of equal length: the
 * bits of such numbers, read as integers, stand in the order of the numbers (IEEE 754).
 */
export function orderOf(...keys: readonly Float64Array[]): Uint32Array {
  const length = keys[0].length;
  let order = Uint32Array.from({ length }, (_, n) => n);
  let spare = new Uint32Array(length);
  const counts = new Uint32Array(RADIX);
  for (const key of [...keys].reverse()) {
    const words = new Uint32Array(key.buffer, key.byteOffset, 2 * length);
    for (const high of [0, 1]) {
      const word = IS_LITTLE_ENDIAN ? high : 1 - high;
      for (const place of PLACES) {
        if (!countDigits(words, word, place, counts)) continue;
        placeByDigit(words, word, place, counts, order, spare);
        [order, spare] = [spare, order];
      }
    }
  }
  return order;
}

/** Leaves in `counts` where each digit's indices begin; false where all digits are the same. */
function countDigits(words: Uint32Array, word: number, place: number, counts: Uint32Array): boolean {
  counts.fill(0);
  for (let at = word; at < words.length; at += 2) counts[(words[at] >>> place) & (RADIX - 1)]++;
  let before = 0;
  let isMixed = false;
  for (let digit = 0; digit < RADIX; digit++) {
    const count = counts[digit];
    if (count > 0 && count < words.length / 2) isMixed = true;
    counts[digit] = before;
    before += count;
  }
  return isMixed;
}

function placeByDigit(
  words: Uint32Array,
  word: number,
  place: number,
  starts: Uint32Array,
  from: Uint32Array,
  to: Uint32Array,
): void {
  for (let n = 0; n < from.length; n++) {
    const index = from[n];
    to[starts[(words[2 * index + word] >>> place) & (RADIX - 1)]++] = index;
  }
}
