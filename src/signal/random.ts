// Seeded random numbers for tests, simulation and test signals: the same on every platform, because only integer
// arithmetic and the exactly rounded operations of IEEE 754 (+ - * / sqrt) are used. Not for secrets.
// Generator: xoshiro128** 1.1, seeded by splitmix64 (D. Blackman, S. Vigna, prng.di.unimi.it, public domain).

/** A stream of random numbers with a life of its own: each call moves it on. */
export class Random {
  readonly #key: bigint;
  readonly #state: Int32Array;
  #spare = Number.NaN;

  /** Any safe integer. Equal seeds give equal streams. Throws a plain Error for anything else. */
  constructor(seed: number | bigint) {
    if (typeof seed === 'number' && !Number.isSafeInteger(seed)) throw new Error(`no seed: ${seed}`);
    this.#key = BigInt.asUintN(64, BigInt(seed));
    this.#state = stateFrom(this.#key);
  }

  /** 0 .. 2^32-1 */
  uint32(): number {
    return nextXoshiro128(this.#state);
  }

  /** Even over [0, 1), on a grid of 2^-53. */
  uniform(): number {
    const high = this.uint32() >>> 5;
    return (high * 0x400_0000 + (this.uint32() >>> 6)) / 0x20_0000_0000_0000;
  }

  /** Even over 0 .. n-1, without bias; n is 1 .. 2^32. */
  integer(n: number): number {
    if (!Number.isInteger(n) || n < 1 || n > 2 ** 32) throw new Error(`no range of integers: ${n}`);
    const limit = 2 ** 32 - (2 ** 32 % n);
    let value = this.uint32();
    while (value >= limit) value = this.uint32();
    return value % n;
  }

  /** Normal, mean 0, standard deviation 1 (polar method of Marsaglia, with our own logarithm for exactness). */
  gaussian(): number {
    const spare = this.#spare;
    if (!Number.isNaN(spare)) {
      this.#spare = Number.NaN;
      return spare;
    }
    let u = 0;
    let v = 0;
    let s = 0;
    do {
      u = 2 * this.uniform() - 1;
      v = 2 * this.uniform() - 1;
      s = u * u + v * v;
    } while (s >= 1 || s === 0);
    const scale = Math.sqrt((-2 * exactLog(s)) / s);
    this.#spare = v * scale;
    return u * scale;
  }

  /** Triangular over (-1, 1): the sum of two even ones. The TPDF dither of one step. */
  triangular(): number {
    return (this.uint32() + this.uint32()) / 2 ** 32 - (1 - 2 ** -32);
  }

  /** A stream of its own for one purpose: depends on this seed and the label, not on how much was drawn before. */
  fork(label: string): Random {
    return new Random(splitmix64(this.#key ^ hashLabel(label)));
  }
}

const GOLDEN = 0x9e37_79b9_7f4a_7c15n;

/** First output of splitmix64 started at `state`; its n-th output is the first one from `state + (n-1)·GOLDEN`. */
export function splitmix64(state: bigint): bigint {
  let z = BigInt.asUintN(64, state + GOLDEN);
  z = BigInt.asUintN(64, (z ^ (z >> 30n)) * 0xbf58_476d_1ce4_e5b9n);
  z = BigInt.asUintN(64, (z ^ (z >> 27n)) * 0x94d0_49bb_1331_11ebn);
  return z ^ (z >> 31n);
}

function stateFrom(key: bigint): Int32Array {
  const a = splitmix64(key);
  const b = splitmix64(key + GOLDEN);
  const state = Int32Array.from([a, a >> 32n, b, b >> 32n], (word) => Number(BigInt.asIntN(32, word)));
  // the all-zero state would stay zero for ever; no key is known to give it
  if (!state.some((word) => word !== 0)) state[0] = 1;
  return state;
}

/** One step of xoshiro128**: changes the four words of `state`, returns 0 .. 2^32-1. */
export function nextXoshiro128(state: Int32Array): number {
  const s1 = state[1];
  const product = Math.imul(s1, 5);
  const result = Math.imul((product << 7) | (product >>> 25), 9);
  const s2 = state[2] ^ state[0];
  const s3 = state[3] ^ s1;
  state[1] = s1 ^ s2;
  state[0] ^= s3;
  state[2] = s2 ^ (s1 << 9);
  state[3] = (s3 << 11) | (s3 >>> 21);
  return result >>> 0;
}

/** FNV-1a, 64 bit, over UTF-16 units (common practice). */
function hashLabel(label: string): bigint {
  let hash = 0xcbf2_9ce4_8422_2325n;
  for (let i = 0; i < label.length; i++) {
    hash = BigInt.asUintN(64, (hash ^ BigInt(label.charCodeAt(i))) * 0x100_0000_01b3n);
  }
  return hash;
}

/** Natural logarithm of 0 < x < 1 from exactly rounded operations only: Math.log may differ between machines. */
export function exactLog(x: number): number {
  let mantissa = x;
  let exponent = 0;
  for (; mantissa < 2 ** -16; exponent -= 16) mantissa *= 65_536;
  for (; mantissa < Math.SQRT1_2; exponent--) mantissa *= 2;
  const t = (mantissa - 1) / (mantissa + 1);
  const t2 = t * t;
  let sum = 0;
  for (let k = 21; k >= 1; k -= 2) sum = sum * t2 + 1 / k;
  return 2 * t * sum + exponent * Math.LN2;
}
