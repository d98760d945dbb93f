// Samples that the law of the tape cannot produce: they were not on the tape, so the deck or the chain put them there. One sample is
// enough evidence. Needs the law; finding it is code-book.ts.
import { type SegmentLaw, type Span, spanEnd } from '../../base/index.ts';
import { bookMask } from '../../signal/index.ts';

/** Off-book samples closer than this belong to one burst: lattices of every second sample, three of five. */
const GAP_FRAMES = 20;

export interface OffBookBurst extends Span {
  /** samples outside the book; others in the span may be concealed as well */
  readonly samples: number;
}

/** Takes the samples of one channel in order. `shift`: bits by which the law's word stands left in the samples. */
export class OffBookScan {
  readonly bursts: OffBookBurst[] = [];
  readonly #mask: Uint8Array;
  readonly #shift: number;

  constructor(law: SegmentLaw, shift: number) {
    this.#mask = bookMask(law);
    this.#shift = shift;
  }

  push(start: number, plane: Int32Array): void {
    const low = 2 ** this.#shift - 1;
    const index = this.#mask.length - 1;
    const half = this.#mask.length / 2;
    for (let i = 0; i < plane.length; i++) {
      const level = plane[i] >> this.#shift;
      const isInside = (plane[i] & low) === 0 && level >= -half && level < half && this.#mask[level & index] === 1;
      if (!isInside) this.#add(start + i);
    }
  }

  #add(frame: number): void {
    const last = this.bursts.at(-1);
    if (last && frame - spanEnd(last) < GAP_FRAMES) {
      this.bursts[this.bursts.length - 1] = {
        start: last.start,
        length: frame + 1 - last.start,
        samples: last.samples + 1,
      };
    } else this.bursts.push({ start: frame, length: 1, samples: 1 });
  }
}
