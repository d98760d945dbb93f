// Do the bits of one track continue the words of another? What the upper track's own rounding adds to its prediction residual is then exactly the
// lower bits, filtered alike and turned round: the slope of one on the other is -1. By chance it is 0, within a normal deviate.
import { fitPredictor, predictionResidual } from '../../signal/index.ts';
import type { LowerShape } from './lower-shape.ts';

/** Running sums of the weighted regression, for lower bits taken as 0 .. 2^k - 1 and as signed. */
interface Sums {
  product: number;
  square: number;
}

export interface UpperAnswer {
  /** normal deviate of the slope; far below 0 where the tracks belong together */
  readonly deviate: number;
  readonly slope: number;
  readonly isSigned: boolean;
}

const ORDER = 24;
/** Residuals beyond this many spreads are transients and pull no harder. */
const MOST_SPREADS = 4;

export class UpperTest {
  readonly #shape: LowerShape;
  readonly #sums: readonly [Sums, Sums] = [
    { product: 0, square: 0 },
    { product: 0, square: 0 },
  ];
  windows = 0;

  constructor(shape: LowerShape) {
    this.#shape = shape;
  }

  /** Both tracks over one window, as they stand in the file; `upperShift`: zero bits below the upper word. */
  push(upper: Int32Array, lower: Int32Array, upperShift: number): void {
    const word = Float64Array.from(upper, (x) => x >> upperShift);
    const predictor = fitPredictor([word], ORDER);
    if (!predictor) return;
    const residual = predictionResidual(word, predictor, ORDER, word.length);
    const power = meanSquare(residual);
    if (power === 0) return;
    const most = MOST_SPREADS * Math.sqrt(power);
    for (const [i, sums] of this.#sums.entries()) {
      const bits = predictionResidual(this.#fraction(lower, i === 1), predictor, ORDER, word.length);
      const mean = bits.reduce((sum, x) => sum + x, 0) / bits.length;
      for (let n = 0; n < residual.length; n++) {
        const pulled = Math.max(-most, Math.min(most, residual[n]));
        const own = bits[n] - mean;
        sums.product += (own * pulled) / power;
        sums.square += (own * own) / power;
      }
    }
    this.windows++;
  }

  answer(): UpperAnswer {
    const [plain, signed] = this.#sums.map(({ product, square }, i) => ({
      deviate: square > 0 ? product / Math.sqrt(square) : 0,
      slope: square > 0 ? product / square : 0,
      isSigned: i === 1,
    }));
    // Signed bits are the exception: they must be well seen, or the plain ones stand.
    return signed.deviate < Math.min(-5, plain.deviate - 1) ? signed : plain;
  }

  /** The lower bits as a fraction of the upper word's step. */
  #fraction(lower: Int32Array, isSigned: boolean): Float64Array {
    const { lowerShift, lowerBits } = this.#shape;
    const whole = 2 ** lowerBits;
    return Float64Array.from(lower, (x) => {
      const bits = (x >> lowerShift) & (whole - 1);
      return (isSigned && bits >= whole / 2 ? bits - whole : bits) / whole;
    });
  }
}

function meanSquare(x: Float64Array): number {
  return x.reduce((sum, one) => sum + one * one, 0) / x.length;
}
