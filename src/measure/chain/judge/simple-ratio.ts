// The simplest number in an interval: the fraction with the least denominator, and the whole hundredths of a decibel. Not for estimating intervals.
export interface Fraction {
  readonly num: number;
  readonly den: number;
}

const MOST_DENOMINATOR = 65_536;

/** Stern and Brocot's tree, 0 < low <= high; undefined when every fraction inside needs a larger denominator. */
export function simplestFraction(low: number, high: number): Fraction | undefined {
  const whole = Math.ceil(low);
  if (whole <= high) return { num: whole, den: 1 };
  let terms: number[] = [];
  let [a, b] = [low, high];
  for (let k = 0; k < 40; k++) {
    const floor = Math.floor(a);
    if (floor + 1 <= b || a === floor) {
      terms = [...terms, a === floor ? floor : floor + 1];
      return folded(terms);
    }
    terms = [...terms, floor];
    [a, b] = [1 / (b - floor), 1 / (a - floor)];
  }
  return undefined;
}

/** The simplest fraction, where one so simple lies inside by chance less than once in a hundred times. */
export function tellingFraction(low: number, high: number): Fraction | undefined {
  const fraction = simplestFraction(low, high);
  // about 0.3 d^2 fractions lie between 0 and 1 up to the denominator d
  return fraction && 0.3 * fraction.den ** 2 * (high - low) < 0.01 ? fraction : undefined;
}

function folded(terms: readonly number[]): Fraction | undefined {
  let [num, den] = [terms[terms.length - 1], 1];
  for (const term of terms.slice(0, -1).reverse()) [num, den] = [term * num + den, num];
  return den <= MOST_DENOMINATOR ? { num, den } : undefined;
}

/** Decibels with as few decimals as the interval allows, two at most; undefined when none lies inside. */
export function simplestDb(low: number, high: number): number | undefined {
  const [from, to] = [20 * Math.log10(low), 20 * Math.log10(high)];
  for (const scale of [1, 2, 10, 100]) {
    const db = Math.ceil(from * scale) / scale;
    if (db <= to) return db;
  }
  return undefined;
}
