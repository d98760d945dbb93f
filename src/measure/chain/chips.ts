// The chips of the mark and of a cell's words, +1 and -1, one series per channel: the same in every signal of every version that keeps the seed.
import { Random } from '../../signal/index.ts';
import { MARK_FRAMES, WORD_FRAMES } from './layout.ts';

const CHIP_SEED = 20_414;

export interface Chips {
  /** as many of either sign, so that an offset does not look like a mark */
  readonly mark: Int8Array;
  /** to be multiplied by +1 or -1 for each bit of the words */
  readonly words: Int8Array;
}

/** `channel` is 0-based. */
export function chipsOf(channel: number): Chips {
  const random = new Random(CHIP_SEED).fork(`channel ${channel + 1}`);
  const mark = Int8Array.from({ length: MARK_FRAMES }, (_, n) => (n % 2 ? 1 : -1));
  for (let n = MARK_FRAMES - 1; n > 0; n--) {
    const other = random.integer(n + 1);
    [mark[n], mark[other]] = [mark[other], mark[n]];
  }
  return { mark, words: Int8Array.from({ length: WORD_FRAMES }, () => (random.integer(2) ? 1 : -1)) };
}
