// The step of an older word that sound may have had before it was brought to a longer one. Not for finding out what it had (word-length).

/** The usual older word. */
const OLDER_BITS = 16;

/** In samples of a word of `bits`: brought there, sound of the older word rests and rings by itself, within a few of these steps. Below 1 in shorter words. */
export function stepOfOlderWord(bits: number): number {
  return 2 ** (bits - OLDER_BITS);
}
