// The first look at a stretch of samples: whether a companding law may have made it, or too much of it lies outside every book.
// A yes says little (silence lies inside every book); a no is beyond doubt for this stretch. Not for naming a law.
import { bookMask, StepCounter } from '../../signal/index.ts';
import { type Family, families, shiftsOf } from './book-families.ts';

/** More than the samples a deck conceals in all but its worst moments; less than linear sound leaves outside once it is louder than the
 * first segments. */
const OUTSIDE_SHARE = 0.3;
/** A family of more laws has some law for nearly every value of its word, so that only the word is asked for. */
const FEW_LAWS = 4;

interface Books {
  readonly family: Family;
  readonly half: number;
  /** one for each law, by the low bits of the level; a single one that holds every level where the laws are many */
  readonly masks: readonly Uint8Array[];
}

export class BookDoubt {
  readonly #bits: number;
  readonly #books: readonly Books[];

  constructor(bits: number) {
    this.#bits = bits;
    this.#books = families().map((family) => {
      const size = 2 ** family.laws[0].linearBits;
      const masks = family.laws.length <= FEW_LAWS ? family.laws.map(bookMask) : [new Uint8Array(size).fill(1)];
      return { family, half: size / 2, masks };
    });
  }

  /** The highest position in the container at which some law may have made the samples: its shift; undefined where there is none. */
  shiftOf(samples: Int32Array): number | undefined {
    const steps = new StepCounter();
    const { min, max } = steps.pushWindow(samples);
    const unused = steps.stepExponent(0.98);
    let highest: number | undefined;
    for (const { family, half, masks } of this.#books) {
      for (const shift of shiftsOf(family, this.#bits, unused)) {
        const isNews = highest === undefined || shift > highest;
        if (!isNews || !mayBeInside(steps, shift)) continue;
        // Where every sample is a level of the word, only the book is asked.
        const isWord = shift <= lowestBit(steps) && min >> shift >= -half && max >> shift < half;
        const test = isWord ? isInBook : isInside;
        if (masks.some((mask) => test(samples, mask, half, shift))) highest = shift;
      }
    }
    return highest;
  }
}

/** Whether enough samples are multiples of the shift's step: what is none lies outside, whatever the book. */
function mayBeInside({ samples, zeros, trailingZeros }: StepCounter, shift: number): boolean {
  let multiples = zeros;
  for (let k = shift; k < trailingZeros.length; k++) multiples += trailingZeros[k];
  return samples - multiples <= OUTSIDE_SHARE * samples;
}

/** The lowest bit that any sample has. */
function lowestBit({ trailingZeros }: StepCounter): number {
  const lowest = trailingZeros.findIndex((count) => count > 0);
  return lowest < 0 ? trailingZeros.length : lowest;
}

/** The same as `isInside`, for samples that are all levels of the word. */
function isInBook(samples: Int32Array, mask: Uint8Array, _half: number, shift: number): boolean {
  const index = mask.length - 1;
  let inside = 0;
  for (let i = 0; i < samples.length; i++) inside += mask[(samples[i] >> shift) & index];
  return samples.length - inside <= OUTSIDE_SHARE * samples.length;
}

/** Ends as soon as the share outside is beyond. */
function isInside(samples: Int32Array, mask: Uint8Array, half: number, shift: number): boolean {
  const most = OUTSIDE_SHARE * samples.length;
  const low = 2 ** shift - 1;
  const index = mask.length - 1;
  let outside = 0;
  for (let i = 0; i < samples.length && outside <= most; i++) {
    const level = samples[i] >> shift;
    const isIn = (samples[i] & low) === 0 && level < half && level >= -half && mask[level & index] === 1;
    if (!isIn) outside++;
  }
  return outside <= most;
}
