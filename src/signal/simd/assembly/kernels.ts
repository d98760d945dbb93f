// AssemblyScript, not TypeScript: the hot scans over planes of 32-bit samples as WebAssembly SIMD. Every kernel has a plain
// twin in ../plain.ts that says what it means and is equal bit for bit. Pointers are byte addresses that the caller lays
// out (../machine.ts); nothing is allocated here. After a change: `npm run build` renews ../kernels-wasm.ts.

/** Bytes of a v128. */
const V: usize = 16;

/** Bytes within the memory; faster than what the language copies to and from shared memory. */
export function move(to: usize, from: usize, bytes: usize): void {
  memory.copy(to, from, bytes);
}

/**
 * `out`: i32 min, max, or, and; then f64 sum, low and high part of the sum of squares (sum = high * 2^32 + low, both exact).
 * At least one sample, at most 2^20 of them.
 */
export function sums(from: usize, count: i32, out: usize): void {
  const low32 = i64x2.splat(0xffffffff);
  let least = i32x4.splat(i32.MAX_VALUE);
  let most = i32x4.splat(i32.MIN_VALUE);
  let or = i32x4.splat(0);
  let and = i32x4.splat(-1);
  let sum = i64x2.splat(0);
  let low = i64x2.splat(0);
  let high = i64x2.splat(0);
  let at = from;
  const end = from + ((<usize>count) << 2);
  for (; at + V <= end; at += V) {
    const x = v128.load(at);
    least = i32x4.min_s(least, x);
    most = i32x4.max_s(most, x);
    or = v128.or(or, x);
    and = v128.and(and, x);
    sum = i64x2.add(sum, i64x2.add(i64x2.extend_low_i32x4_s(x), i64x2.extend_high_i32x4_s(x)));
    const a = i64x2.extmul_low_i32x4_s(x, x);
    const b = i64x2.extmul_high_i32x4_s(x, x);
    low = i64x2.add(low, i64x2.add(v128.and(a, low32), v128.and(b, low32)));
    high = i64x2.add(high, i64x2.add(i64x2.shr_u(a, 32), i64x2.shr_u(b, 32)));
  }
  storeExtent(out, least, most, or, and);
  let total = i64x2.extract_lane(sum, 0) + i64x2.extract_lane(sum, 1);
  let totalLow = i64x2.extract_lane(low, 0) + i64x2.extract_lane(low, 1);
  let totalHigh = i64x2.extract_lane(high, 0) + i64x2.extract_lane(high, 1);
  for (; at < end; at += 4) {
    const x = load<i32>(at);
    widenExtent(out, x);
    total += <i64>x;
    const square = <i64>x * <i64>x;
    totalLow += square & 0xffffffff;
    totalHigh += square >> 32;
  }
  store<f64>(out, <f64>total, 16);
  store<f64>(out, <f64>totalLow, 24);
  store<f64>(out, <f64>totalHigh, 32);
}

/**
 * The same for samples of at most 24 bits, at most 2^16 of them: squares then need no second part. Sums run in i32 over stretches
 * of 64 vectors.
 */
export function narrowSums(from: usize, count: i32, out: usize): void {
  let least = i32x4.splat(i32.MAX_VALUE);
  let most = i32x4.splat(i32.MIN_VALUE);
  let or = i32x4.splat(0);
  let and = i32x4.splat(-1);
  let sum = i64x2.splat(0);
  let squares = i64x2.splat(0);
  let more = i64x2.splat(0);
  let at = from;
  const end = from + ((<usize>count) << 2);
  while (at + V <= end) {
    const stretch = min(end, at + 64 * V);
    let part = i32x4.splat(0);
    for (; at + V <= stretch; at += V) {
      const x = v128.load(at);
      least = i32x4.min_s(least, x);
      most = i32x4.max_s(most, x);
      or = v128.or(or, x);
      and = v128.and(and, x);
      part = i32x4.add(part, x);
      squares = i64x2.add(squares, i64x2.extmul_low_i32x4_s(x, x));
      more = i64x2.add(more, i64x2.extmul_high_i32x4_s(x, x));
    }
    sum = i64x2.add(sum, i64x2.add(i64x2.extend_low_i32x4_s(part), i64x2.extend_high_i32x4_s(part)));
  }
  squares = i64x2.add(squares, more);
  storeExtent(out, least, most, or, and);
  let total = i64x2.extract_lane(sum, 0) + i64x2.extract_lane(sum, 1);
  let square = i64x2.extract_lane(squares, 0) + i64x2.extract_lane(squares, 1);
  for (; at < end; at += 4) {
    const x = load<i32>(at);
    widenExtent(out, x);
    total += <i64>x;
    square += <i64>x * <i64>x;
  }
  store<f64>(out, <f64>total, 16);
  store<f64>(out, <f64>(square & 0xffffffff), 24);
  store<f64>(out, <f64>(square >> 32), 32);
}

/** i32 min, max, or, and of four lanes. */
function storeExtent(out: usize, least: v128, most: v128, or: v128, and: v128): void {
  store<i32>(out, min4(least), 0);
  store<i32>(out, max4(most), 4);
  store<i32>(out, or4(or), 8);
  store<i32>(out, ~or4(v128.not(and)), 12);
}

/** One sample more. */
function widenExtent(out: usize, x: i32): void {
  store<i32>(out, min(load<i32>(out, 0), x), 0);
  store<i32>(out, max(load<i32>(out, 4), x), 4);
  store<i32>(out, load<i32>(out, 8) | x, 8);
  store<i32>(out, load<i32>(out, 12) & x, 12);
}

/** Rows of the four tables that `octaves` counts in: a lane each, so that equal neighbours do not wait for each other. */
const OCTAVE_ROW: usize = 264 * 4;

/** Histogram as u32 in the first row of `table` (4 rows): [(e << 3) | m], e = bits of the magnitude, m = the three bits below
 * the highest (0 where e <= 3). */
export function octaves(from: usize, count: i32, table: usize): void {
  memory.fill(table, 0, 4 * OCTAVE_ROW);
  const second = table + OCTAVE_ROW;
  const third = second + OCTAVE_ROW;
  const fourth = third + OCTAVE_ROW;
  let at = from;
  const end = from + ((<usize>count) << 2);
  for (; at + 2 * V <= end; at += 2 * V) {
    const o = i16x8.narrow_i32x4_s(octaveBytes(v128.load(at)), octaveBytes(v128.load(at, 16)));
    bumpFour(i64x2.extract_lane(o, 0), table, second, third, fourth);
    bumpFour(i64x2.extract_lane(o, 1), table, second, third, fourth);
  }
  for (; at < end; at += 4) bump(table + i32x4.extract_lane(octaveBytes(i32x4.splat(load<i32>(at))), 0));
  for (let k: usize = 0; k < OCTAVE_ROW; k += 4) {
    const sum = load<u32>(table + k) + load<u32>(table + k, OCTAVE_ROW) + load<u32>(table + k, 2 * OCTAVE_ROW);
    store<u32>(table + k, sum + load<u32>(table + k, 3 * OCTAVE_ROW));
  }
  // magnitudes below 8 have no three bits below the highest
  for (let e: usize = 1; e <= 3; e++) {
    const first = table + (e << 5);
    let sum: u32 = 0;
    for (let m: usize = 0; m < 8; m++) {
      sum += load<u32>(first + (m << 2));
      store<u32>(first + (m << 2), 0);
    }
    store<u32>(first, sum);
  }
}

/** Byte offset of the octave counter: exponent and three bits of mantissa of the magnitude as a float, which is cut beforehand
 * so that its conversion cannot round into the next octave. */
@inline
function octaveBytes(x: v128): v128 {
  const magnitude = i32x4.abs(x);
  const cut = v128.andnot(magnitude, i32x4.shr_u(magnitude, 8));
  // the magnitude of the lowest 32-bit number looks negative: its exponent is right, its sign is not wanted
  const float = v128.and(f32x4.convert_i32x4_s(cut), i32x4.splat(0x7fffffff));
  const index = i32x4.sub(i32x4.shr_u(float, 20), i32x4.splat(126 << 3));
  return i32x4.shl(i32x4.max_s(index, i32x4.splat(0)), 2);
}

/** Four counters whose byte offsets are 16 bits each. */
@inline
function bumpFour(offsets: i64, first: usize, second: usize, third: usize, fourth: usize): void {
  bump(first + (<usize>offsets & 0xffff));
  bump(second + (<usize>(<u32>offsets >> 16)));
  bump(third + (<usize>(offsets >> 32) & 0xffff));
  bump(fourth + (<usize>(<u64>offsets >> 48)));
}

@inline
function bump(at: usize): void {
  store<u32>(at, load<u32>(at) + 1);
}

/** Levels of the counters below: 2^24 vectors. */
const LEVELS: usize = 24;

/**
 * Histogram as u32: [k] = samples whose lowest set bit is bit k (zero samples are in none). Counts all 32 bits at once in counters
 * that stand upright: bit k of level j is bit j of the count of k (carry-save adders; Harley and Seal). `levels`: room for 24 v128.
 */
export function lowestBits(from: usize, count: i32, levels: usize, out: usize): void {
  memory.fill(levels, 0, LEVELS * V);
  memory.fill(out, 0, 128);
  let ones = i32x4.splat(0);
  let twos = i32x4.splat(0);
  let fours = i32x4.splat(0);
  let eights = i32x4.splat(0);
  let at = from;
  const end = from + ((<usize>count) << 2);
  for (; at + 16 * V <= end; at += 16 * V) {
    const a0 = lowest(v128.load(at)), a1 = lowest(v128.load(at, 16));
    const aTwos = carry(ones, a0, a1);
    ones = xor3(ones, a0, a1);
    const a2 = lowest(v128.load(at, 32)), a3 = lowest(v128.load(at, 48));
    const aMoreTwos = carry(ones, a2, a3);
    ones = xor3(ones, a2, a3);
    const aFours = carry(twos, aTwos, aMoreTwos);
    twos = xor3(twos, aTwos, aMoreTwos);
    const b0 = lowest(v128.load(at, 64)), b1 = lowest(v128.load(at, 80));
    const bTwos = carry(ones, b0, b1);
    ones = xor3(ones, b0, b1);
    const b2 = lowest(v128.load(at, 96)), b3 = lowest(v128.load(at, 112));
    const bMoreTwos = carry(ones, b2, b3);
    ones = xor3(ones, b2, b3);
    const bFours = carry(twos, bTwos, bMoreTwos);
    twos = xor3(twos, bTwos, bMoreTwos);
    const eightsA = carry(fours, aFours, bFours);
    fours = xor3(fours, aFours, bFours);
    const c0 = lowest(v128.load(at, 128)), c1 = lowest(v128.load(at, 144));
    const cTwos = carry(ones, c0, c1);
    ones = xor3(ones, c0, c1);
    const c2 = lowest(v128.load(at, 160)), c3 = lowest(v128.load(at, 176));
    const cMoreTwos = carry(ones, c2, c3);
    ones = xor3(ones, c2, c3);
    const cFours = carry(twos, cTwos, cMoreTwos);
    twos = xor3(twos, cTwos, cMoreTwos);
    const d0 = lowest(v128.load(at, 192)), d1 = lowest(v128.load(at, 208));
    const dTwos = carry(ones, d0, d1);
    ones = xor3(ones, d0, d1);
    const d2 = lowest(v128.load(at, 224)), d3 = lowest(v128.load(at, 240));
    const dMoreTwos = carry(ones, d2, d3);
    ones = xor3(ones, d2, d3);
    const dFours = carry(twos, dTwos, dMoreTwos);
    twos = xor3(twos, dTwos, dMoreTwos);
    const eightsB = carry(fours, cFours, dFours);
    fours = xor3(fours, cFours, dFours);
    countUp(levels + 4 * V, carry(eights, eightsA, eightsB));
    eights = xor3(eights, eightsA, eightsB);
  }
  v128.store(levels, ones);
  v128.store(levels + V, twos);
  v128.store(levels + 2 * V, fours);
  v128.store(levels + 3 * V, eights);
  for (; at < end; at += 4) countUp(levels, i32x4.replace_lane(i32x4.splat(0), 0, load<i32>(at) & -load<i32>(at)));
  for (let level: usize = 0; level < LEVELS; level++) {
    for (let lane: usize = 0; lane < V; lane += 4) {
      let bits = load<u32>(levels + level * V + lane);
      for (; bits != 0; bits &= bits - 1) {
        const counter = out + (<usize>ctz(bits) << 2);
        store<u32>(counter, load<u32>(counter) + (1 << <u32>level));
      }
    }
  }
}

@inline
function lowest(x: v128): v128 {
  return v128.and(x, i32x4.neg(x));
}

@inline
function xor3(a: v128, b: v128, c: v128): v128 {
  return v128.xor(a, v128.xor(b, c));
}

/** The carry of three bits, in every place. */
@inline
function carry(a: v128, b: v128, c: v128): v128 {
  return v128.or(v128.and(a, b), v128.and(c, v128.xor(a, b)));
}

/** Adds one vector to upright counters. */
@inline
function countUp(levels: usize, ones: v128): void {
  let rest = ones;
  for (let at = levels; v128.any_true(rest); at += V) {
    const held = v128.load(at);
    v128.store(at, v128.xor(held, rest));
    rest = v128.and(held, rest);
  }
}

@inline
function secondDifference(at: usize): v128 {
  return i32x4.sub(i32x4.shl(v128.load(at, 4), 1), i32x4.add(v128.load(at), v128.load(at, 8)));
}

/**
 * Per cell the sum over its frames of |2 x[i + 1] - x[i] - x[i + 2]|, as f64 to `sums`; and the indices i at which that is at most `most`, flat ones
 * left out, to `out`; returns their number. Samples of at most 24 bits, cells of a multiple of 8 frames up to 256.
 */
export function meanCells(from: usize, cells: i32, cellFrames: i32, most: i32, sums: usize, out: usize): i32 {
  const limit = i32x4.splat(most);
  let to = out;
  let i = 0;
  for (let cell = 0; cell < cells; cell++) {
    let sum = i32x4.splat(0);
    for (const end = i + cellFrames; i < end; i += 8) {
      const at = from + ((<usize>i) << 2);
      const bend = i32x4.abs(secondDifference(at));
      const bendToo = i32x4.abs(secondDifference(at + V));
      sum = i32x4.add(sum, i32x4.add(bend, bendToo));
      const near = i32x4.le_u(bend, limit);
      const nearToo = i32x4.le_u(bendToo, limit);
      if (!v128.any_true(v128.or(near, nearToo))) continue;
      to = writeHits(v128.andnot(near, flat(at)), i, to);
      to = writeHits(v128.andnot(nearToo, flat(at + V)), i + 4, to);
    }
    store<f64>(sums + ((<usize>cell) << 3), total4(sum));
  }
  return <i32>((to - out) >> 2);
}

/** Where three samples in a row are equal. */
@inline
function flat(at: usize): v128 {
  const x = v128.load(at, 4);
  return v128.and(i32x4.eq(x, v128.load(at)), i32x4.eq(x, v128.load(at, 8)));
}

/** The same with |x[i + 1] - x[i]|, and the indices i with x[i + 1] = x[i] where not both it and x[i + 2] are 0. */
export function holdCells(from: usize, cells: i32, cellFrames: i32, sums: usize, out: usize): i32 {
  const zero = i32x4.splat(0);
  let to = out;
  let i = 0;
  for (let cell = 0; cell < cells; cell++) {
    let sum = i32x4.splat(0);
    for (const end = i + cellFrames; i < end; i += 8) {
      const at = from + ((<usize>i) << 2);
      const x = v128.load(at, 4);
      const y = v128.load(at, 20);
      const change = i32x4.sub(x, v128.load(at));
      const changeToo = i32x4.sub(y, v128.load(at, 16));
      sum = i32x4.add(sum, i32x4.add(i32x4.abs(change), i32x4.abs(changeToo)));
      if (i32x4.all_true(change) && i32x4.all_true(changeToo)) continue;
      // A zero before a sample that sounds is the last of its row.
      const sounds = v128.or(x, v128.load(at, 8));
      const soundsToo = v128.or(y, v128.load(at, 24));
      to = writeHits(v128.and(i32x4.eq(change, zero), i32x4.ne(sounds, zero)), i, to);
      to = writeHits(v128.and(i32x4.eq(changeToo, zero), i32x4.ne(soundsToo, zero)), i + 4, to);
    }
    store<f64>(sums + ((<usize>cell) << 3), total4(sum));
  }
  return <i32>((to - out) >> 2);
}

@inline
function writeHits(mask: v128, base: i32, to: usize): usize {
  let bits = i32x4.bitmask(mask);
  while (bits != 0) {
    store<i32>(to, base + ctz(bits));
    to += 4;
    bits &= bits - 1;
  }
  return to;
}

/** Pairs start, end of runs of zeros that are at least `shortest` long or touch an end of the plane. Returns the pairs. */
export function zeroRuns(from: usize, count: i32, shortest: i32, out: usize): i32 {
  let to = out;
  let i = 0;
  while (true) {
    while (i + 4 <= count && i32x4.all_true(v128.load(from + ((<usize>i) << 2)))) i += 4;
    while (i < count && load<i32>(from + ((<usize>i) << 2)) != 0) i++;
    if (i >= count) break;
    const start = i;
    while (i + 4 <= count && !v128.any_true(v128.load(from + ((<usize>i) << 2)))) i += 4;
    while (i < count && load<i32>(from + ((<usize>i) << 2)) == 0) i++;
    if (i - start >= shortest || start == 0 || i == count) {
      store<i32>(to, start);
      store<i32>(to, i, 4);
      to += 8;
    }
  }
  return <i32>((to - out) >> 3);
}

/** First index at which the planes differ; `count` when they do not. */
export function firstDifference(a: usize, b: usize, count: i32): i32 {
  let i = 0;
  for (; i + 8 <= count; i += 8) {
    const at = (<usize>i) << 2;
    const differs = v128.xor(v128.load(a + at), v128.load(b + at));
    if (v128.any_true(v128.or(differs, v128.xor(v128.load(a + at, 16), v128.load(b + at, 16))))) break;
  }
  while (i < count && load<i32>(a + ((<usize>i) << 2)) == load<i32>(b + ((<usize>i) << 2))) i++;
  return i;
}

function or4(x: v128): i32 {
  return i32x4.extract_lane(x, 0) | i32x4.extract_lane(x, 1) | i32x4.extract_lane(x, 2) | i32x4.extract_lane(x, 3);
}

/** ../window-matches.ts */
const SLOT_SHIFT: i32 = 32 - 12;

/**
 * Looks every window of five samples up in a table of slots of two words (16 bits of hash, 16 bits of frame; the newer first) and puts every fourth there. Pairs of
 * index and distance go to `out` where eight samples in a row, or five up to the end, are equal to those before; returns their number. `longest` + 8
 * samples of context lie before `from`. `factors`: i32 factors of the halves of a sample, low and high, by how far it is back, and the one that
 * spreads; room for 32 bytes behind them from 32 on. They come from outside because constants are made anew in every turn of the loop (measured: a fifth slower).
 */
export function windowMatches(
  from: usize,
  count: i32,
  firstFrame: i32,
  table: usize,
  shortest: i32,
  longest: i32,
  factors: usize,
  out: usize,
): i32 {
  const f0 = v128.load32_splat(factors), f1 = v128.load32_splat(factors, 4), f2 = v128.load32_splat(factors, 8);
  const f3 = v128.load32_splat(factors, 12), f4 = v128.load32_splat(factors, 16), spreader = v128.load32_splat(factors, 20);
  const zero = i32x4.splat(0);
  const nearest = i32x4.splat(shortest), spans = i32x4.splat(longest - shortest);
  const firstTwo = i32x4(0, 0, 1, 1), lastTwo = i32x4(2, 2, 3, 3);
  const scratch = factors + 32;
  const end = from + ((<usize>count) << 2);
  const span = <u32>(longest - shortest);
  let to = out;
  let i = 0;
  for (; i < count && ((firstFrame + i) & 3) != 0; i++) to = lookUp(from, end, i, keyAt(from, i, factors), firstFrame, table, shortest, span, to);
  for (; i + 4 <= count; i += 4) {
    const key = windowKeys(from + ((<usize>i) << 2), f0, f1, f2, f3, f4, spreader);
    const slots = i32x4.shl(i32x4.shr_u(key, SLOT_SHIFT), 3);
    const tags = i32x4.shl(i32x4.shr_u(key, 4), 16);
    const last = table + i32x4.extract_lane(slots, 3);
    const early = v128.load64_lane(
      table + i32x4.extract_lane(slots, 1),
      v128.load64_zero(table + i32x4.extract_lane(slots, 0)),
      1,
    );
    const late = v128.load64_lane(last, v128.load64_zero(table + i32x4.extract_lane(slots, 2)), 1);
    const frame = firstFrame + i;
    store<i64>(last, (load<i64>(last) << 32) | <i64>(<u32>(i32x4.extract_lane(tags, 3) | ((frame + 3) & 0xffff))));
    const isEarly = i32x4.eq(i32x4.shr_u(v128.xor(early, v128.shuffle<i32>(tags, tags, 0, 0, 1, 1)), 16), zero);
    const isLate = i32x4.eq(i32x4.shr_u(v128.xor(late, v128.shuffle<i32>(tags, tags, 2, 2, 3, 3)), 16), zero);
    if (!v128.any_true(v128.or(isEarly, isLate))) continue;
    // Two places for each of the four windows: how far before they stood, and whether that is asked for.
    const frames = i32x4.splat(frame);
    const back = distancesTo(early, i32x4.add(frames, firstTwo));
    const backLate = distancesTo(late, i32x4.add(frames, lastTwo));
    let wanted =
      i32x4.bitmask(v128.and(isEarly, i32x4.le_u(i32x4.sub(back, nearest), spans))) |
      (i32x4.bitmask(v128.and(isLate, i32x4.le_u(i32x4.sub(backLate, nearest), spans))) << 4);
    if (wanted == 0) continue;
    v128.store(scratch, back);
    v128.store(scratch, backLate, 16);
    while (wanted != 0) {
      const place = ctz(wanted);
      const next = writeMatch(from, end, i + (place >> 1), load<i32>(scratch + ((<usize>place) << 2)), to);
      // The newer of the two places is enough.
      if (next != to) wanted &= ~(3 << (place & 6));
      wanted &= ~(1 << place);
      to = next;
    }
  }
  for (; i < count; i++) to = lookUp(from, end, i, keyAt(from, i, factors), firstFrame, table, shortest, span, to);
  return <i32>((to - out) >> 3);
}

/** Spread hashes over the last five samples, at four places. */
@inline
function windowKeys(at: usize, f0: v128, f1: v128, f2: v128, f3: v128, f4: v128, spreader: v128): v128 {
  const near = i32x4.add(i32x4.dot_i16x8_s(v128.load(at), f0), i32x4.dot_i16x8_s(v128.load(at - 4), f1));
  const far = i32x4.add(i32x4.dot_i16x8_s(v128.load(at - 8), f2), i32x4.dot_i16x8_s(v128.load(at - 12), f3));
  const hash = i32x4.add(i32x4.add(near, far), i32x4.dot_i16x8_s(v128.load(at - 16), f4));
  return i32x4.mul(v128.xor(hash, i32x4.shr_u(hash, 15)), spreader);
}

function keyAt(from: usize, i: i32, factors: usize): i32 {
  const f0 = v128.load32_splat(factors), f1 = v128.load32_splat(factors, 4), f2 = v128.load32_splat(factors, 8);
  const f3 = v128.load32_splat(factors, 12), f4 = v128.load32_splat(factors, 16), spreader = v128.load32_splat(factors, 20);
  return i32x4.extract_lane(windowKeys(from + ((<usize>i) << 2), f0, f1, f2, f3, f4, spreader), 0);
}

/** One window by itself. */
function lookUp(
  from: usize,
  end: usize,
  i: i32,
  key: i32,
  firstFrame: i32,
  table: usize,
  shortest: i32,
  span: u32,
  to: usize,
): usize {
  const slot = table + ((<usize>(<u32>key >> SLOT_SHIFT)) << 3);
  const tag = (key >>> 4) << 16;
  const frame = firstFrame + i;
  const newer = load<i32>(slot);
  const older = load<i32>(slot, 4);
  if ((frame & 3) == 3) {
    store<i32>(slot, newer, 4);
    store<i32>(slot, tag | (frame & 0xffff));
  }
  let next = to;
  if ((newer ^ tag) >>> 16 == 0) next = tryMatch(from, end, i, (frame - newer) & 0xffff, shortest, span, to);
  return next == to && (older ^ tag) >>> 16 == 0
    ? tryMatch(from, end, i, (frame - older) & 0xffff, shortest, span, to)
    : next;
}

@inline
function distancesTo(known: v128, frames: v128): v128 {
  return v128.and(i32x4.sub(frames, known), i32x4.splat(0xffff));
}

@inline
function tryMatch(from: usize, end: usize, i: i32, distance: i32, shortest: i32, span: u32, to: usize): usize {
  return <u32>(distance - shortest) > span ? to : writeMatch(from, end, i, distance, to);
}

/** Writes the match when enough samples are equal: eight in a row that hold the last five, where those after the end count as equal. */
function writeMatch(from: usize, end: usize, i: i32, distance: i32, to: usize): usize {
  const at = from + ((<usize>i) << 2);
  const left = <i32>((end - at) >> 2);
  // bit k: sample i - 7 + k
  let equal = equalAt(at - 28, distance) | (equalAt(at - 12, distance) << 4) | (equalAt(at + 4, distance) << 8);
  if (left < 5) equal |= -1 << (7 + left);
  equal &= equal >> 1;
  equal &= equal >> 2;
  equal &= equal >> 4;
  if ((equal & 15) == 0) return to;
  store<i32>(to, i);
  store<i32>(to, distance, 4);
  return to + 8;
}

@inline
function equalAt(at: usize, distance: i32): i32 {
  return i32x4.bitmask(i32x4.eq(v128.load(at), v128.load(at - ((<usize>distance) << 2))));
}

/** Below this a state of the weighting filter is nothing; ../../loudness-filter.ts. */
const NOTHING: f64 = 1e-20;

/**
 * The recursive weighting filter of loudness over four channels at once, in the same order of operations as its twin
 * (../../loudness-filter.ts), so that every bit is the same. Planes lie `stride` bytes apart, two samples of context before each; the second
 * differences of samples that the filter begins with are made of integers, four frames at a time. `ends`: i32 frames after which the energies are
 * taken. `coefficients`: 6 f64. `state`: z1 z2 y1 y2 energy, each of the four channels side by side. `out`: four f64 per end.
 */
export function weightedEnergies(
  from: usize,
  stride: usize,
  frames: i32,
  ends: usize,
  count: i32,
  coefficients: usize,
  state: usize,
  out: usize,
): void {
  let i = 0;
  for (let k = 0; k <= count; k++) {
    const end = k < count ? load<i32>(ends + ((<usize>k) << 2)) : frames;
    weightStretch(from + ((<usize>i) << 2), stride, end - i, coefficients, state);
    i = end;
    if (k < count) takeEnergies(state, out + ((<usize>k) << 5));
  }
}

function takeEnergies(state: usize, out: usize): void {
  v128.store(out, v128.load(state, 128));
  v128.store(out, v128.load(state, 144), 16);
  v128.store(state, i64x2.splat(0), 128);
  v128.store(state, i64x2.splat(0), 144);
  for (let at = state; at < state + 128; at += 8) if (abs(load<f64>(at)) < NOTHING) store<f64>(at, 0);
}

function weightStretch(from: usize, stride: usize, frames: i32, coefficients: usize, state: usize): void {
  const c1 = v128.load64_splat(coefficients);
  const c2 = v128.load64_splat(coefficients, 8);
  const b1 = v128.load64_splat(coefficients, 16);
  const b2 = v128.load64_splat(coefficients, 24);
  const a1 = v128.load64_splat(coefficients, 32);
  const a2 = v128.load64_splat(coefficients, 40);
  let z1 = v128.load(state), Z1 = v128.load(state, 16);
  let z2 = v128.load(state, 32), Z2 = v128.load(state, 48);
  let y1 = v128.load(state, 64), Y1 = v128.load(state, 80);
  let y2 = v128.load(state, 96), Y2 = v128.load(state, 112);
  let e = v128.load(state, 128), E = v128.load(state, 144);
  const second = from + stride;
  const third = second + stride;
  const fourth = third + stride;
  let at: usize = 0;
  for (const end = (<usize>frames) << 2; at < end; ) {
    // Four frames, or as many as are left: then the samples behind them are looked at in vain.
    const p = bends(from + at), q = bends(second + at), P = bends(third + at), Q = bends(fourth + at);
    const w = v128.shuffle<i32>(p, q, 0, 4, 1, 5), W = v128.shuffle<i32>(P, Q, 0, 4, 1, 5);
    const later = v128.shuffle<i32>(p, q, 2, 6, 3, 7), Later = v128.shuffle<i32>(P, Q, 2, 6, 3, 7);
    {
      const z = allPole(w, z1, z2, c1, c2), Z = allPole(W, Z1, Z2, c1, c2);
      const y = shelf(z, z1, z2, y1, y2, b1, b2, a1, a2), Y = shelf(Z, Z1, Z2, Y1, Y2, b1, b2, a1, a2);
      e = f64x2.add(e, f64x2.mul(y, y));
      E = f64x2.add(E, f64x2.mul(Y, Y));
      z2 = z1; Z2 = Z1; z1 = z; Z1 = Z;
      y2 = y1; Y2 = Y1; y1 = y; Y1 = Y;
    }
    at += 4;
    if (at == end) break;
    {
      const z = allPole(upper(w), z1, z2, c1, c2), Z = allPole(upper(W), Z1, Z2, c1, c2);
      const y = shelf(z, z1, z2, y1, y2, b1, b2, a1, a2), Y = shelf(Z, Z1, Z2, Y1, Y2, b1, b2, a1, a2);
      e = f64x2.add(e, f64x2.mul(y, y));
      E = f64x2.add(E, f64x2.mul(Y, Y));
      z2 = z1; Z2 = Z1; z1 = z; Z1 = Z;
      y2 = y1; Y2 = Y1; y1 = y; Y1 = Y;
    }
    at += 4;
    if (at == end) break;
    {
      const z = allPole(later, z1, z2, c1, c2), Z = allPole(Later, Z1, Z2, c1, c2);
      const y = shelf(z, z1, z2, y1, y2, b1, b2, a1, a2), Y = shelf(Z, Z1, Z2, Y1, Y2, b1, b2, a1, a2);
      e = f64x2.add(e, f64x2.mul(y, y));
      E = f64x2.add(E, f64x2.mul(Y, Y));
      z2 = z1; Z2 = Z1; z1 = z; Z1 = Z;
      y2 = y1; Y2 = Y1; y1 = y; Y1 = Y;
    }
    at += 4;
    if (at == end) break;
    {
      const z = allPole(upper(later), z1, z2, c1, c2), Z = allPole(upper(Later), Z1, Z2, c1, c2);
      const y = shelf(z, z1, z2, y1, y2, b1, b2, a1, a2), Y = shelf(Z, Z1, Z2, Y1, Y2, b1, b2, a1, a2);
      e = f64x2.add(e, f64x2.mul(y, y));
      E = f64x2.add(E, f64x2.mul(Y, Y));
      z2 = z1; Z2 = Z1; z1 = z; Z1 = Z;
      y2 = y1; Y2 = Y1; y1 = y; Y1 = Y;
    }
    at += 4;
  }
  v128.store(state, z1); v128.store(state, Z1, 16);
  v128.store(state, z2, 32); v128.store(state, Z2, 48);
  v128.store(state, y1, 64); v128.store(state, Y1, 80);
  v128.store(state, y2, 96); v128.store(state, Y2, 112);
  v128.store(state, e, 128); v128.store(state, E, 144);
}

/** Second differences of integers that end at four frames. */
@inline
function bends(at: usize): v128 {
  return i32x4.add(i32x4.sub(v128.load(at), i32x4.shl(v128.load(at - 4), 1)), v128.load(at - 8));
}

@inline
function upper(x: v128): v128 {
  return v128.shuffle<i32>(x, x, 2, 3, 2, 3);
}

/** bend - c2 z2 - c1 z1, of the lower two bends */
@inline
function allPole(bend: v128, z1: v128, z2: v128, c1: v128, c2: v128): v128 {
  return f64x2.sub(f64x2.sub(f64x2.convert_low_i32x4_s(bend), f64x2.mul(c2, z2)), f64x2.mul(c1, z1));
}

/** z + b1 z1 + b2 z2 - a2 y2 - a1 y1 */
@inline
function shelf(z: v128, z1: v128, z2: v128, y1: v128, y2: v128, b1: v128, b2: v128, a1: v128, a2: v128): v128 {
  const ahead = f64x2.add(f64x2.add(z, f64x2.mul(b1, z1)), f64x2.mul(b2, z2));
  return f64x2.sub(f64x2.sub(ahead, f64x2.mul(a2, y2)), f64x2.mul(a1, y1));
}

function total4(sum: v128): f64 {
  return (
    <f64>(<u32>i32x4.extract_lane(sum, 0)) +
    <f64>(<u32>i32x4.extract_lane(sum, 1)) +
    <f64>(<u32>i32x4.extract_lane(sum, 2)) +
    <f64>(<u32>i32x4.extract_lane(sum, 3))
  );
}

function min4(x: v128): i32 {
  return min(min(i32x4.extract_lane(x, 0), i32x4.extract_lane(x, 1)), min(i32x4.extract_lane(x, 2), i32x4.extract_lane(x, 3)));
}

function max4(x: v128): i32 {
  return max(max(i32x4.extract_lane(x, 0), i32x4.extract_lane(x, 1)), max(i32x4.extract_lane(x, 2), i32x4.extract_lane(x, 3)));
}

/** Sum of the samples; exact. */
export function total(from: usize, count: i32): f64 {
  let sum = i64x2.splat(0);
  let at = from;
  const end = from + ((<usize>count) << 2);
  for (; at + V <= end; at += V) {
    const x = v128.load(at);
    sum = i64x2.add(sum, i64x2.add(i64x2.extend_low_i32x4_s(x), i64x2.extend_high_i32x4_s(x)));
  }
  let all = i64x2.extract_lane(sum, 0) + i64x2.extract_lane(sum, 1);
  for (; at < end; at += 4) all += <i64>load<i32>(at);
  return <f64>all;
}

/** `out`: i32 min, max, or, and, samples equal to the one before; 4 bytes unused; f64 sum of magnitudes. 1 .. 2^20 samples. */
export function facts(from: usize, count: i32, out: usize): void {
  let least = i32x4.splat(i32.MAX_VALUE);
  let most = i32x4.splat(i32.MIN_VALUE);
  let or = i32x4.splat(0);
  let and = i32x4.splat(-1);
  let equal = i32x4.splat(0);
  let sum = i64x2.splat(0);
  let at = from;
  const end = from + ((<usize>count) << 2);
  // A vector is taken when the sample after it belongs to the window too.
  for (; at + V < end; at += V) {
    const x = v128.load(at);
    least = i32x4.min_s(least, x);
    most = i32x4.max_s(most, x);
    or = v128.or(or, x);
    and = v128.and(and, x);
    equal = i32x4.sub(equal, i32x4.eq(x, v128.load(at, 4)));
    const magnitude = i32x4.abs(x);
    sum = i64x2.add(sum, i64x2.add(i64x2.extend_low_i32x4_u(magnitude), i64x2.extend_high_i32x4_u(magnitude)));
  }
  storeExtent(out, least, most, or, and);
  let repeats = <i32>total4(equal);
  let magnitudes = i64x2.extract_lane(sum, 0) + i64x2.extract_lane(sum, 1);
  for (; at < end; at += 4) {
    const x = load<i32>(at);
    widenExtent(out, x);
    if (at + 4 < end && x == load<i32>(at, 4)) repeats++;
    magnitudes += x < 0 ? -(<i64>x) : <i64>x;
  }
  store<i32>(out, repeats, 16);
  store<f64>(out, <f64>magnitudes, 24);
}

/** Frames weighed against one step, and of one peak; ../breaks.ts. */
const BREAK_CELL: i32 = 1024;
const BREAK_PART: i32 = 32;
/** Sixteen steps of rounding. */
const ROUNDING_SHIFT: u32 = 4;
const LEAST_ROUNDING: u32 = 1 << ROUNDING_SHIFT;

/**
 * Breaks of a waveform, ../breaks.ts: `cells` of 1024 samples, 28 samples of context around all. `edges`: 32 f64 thresholds and 32 i32
 * bins by the five bits below the highest of a number. `bends` has room for a cell and 24 samples to both sides. `bins`: 512 i32 of ratios, then 512 of
 * sizes, added to. Places of at least `leastRatio` go to `out` as f64 index, ratio. Returns their number; the largest magnitude goes to `magnitude` as f64.
 */
export function breaks(
  from: usize,
  cells: i32,
  leastRatio: f64,
  edges: usize,
  bends: usize,
  bins: usize,
  magnitude: usize,
  out: usize,
): i32 {
  let least = i32x4.splat(0);
  let most = i32x4.splat(0);
  let to = out;
  for (let cell = 0; cell < cells; cell++) {
    const first = from + ((<usize>(cell * BREAK_CELL)) << 2);
    let or = i32x4.splat(0);
    for (let at = first - 96, bend = bends, end = first + ((<usize>BREAK_CELL) << 2) + 96; at < end; at += V, bend += V) {
      const x = v128.load(at);
      or = v128.or(or, x);
      least = i32x4.min_s(least, x);
      most = i32x4.max_s(most, x);
      const sides = i32x4.sub(i32x4.add(v128.load(at - 4), v128.load(at, 4)), x);
      const far = i32x4.add(i32x4.add(v128.load(at - 8), v128.load(at, 8)), i32x4.shl(x, 1));
      v128.store(bend, i32x4.abs(i32x4.sub(far, i32x4.shl(sides, 2))));
    }
    const bits = or4(or);
    const rounding = <u32>(bits == 0 ? 1 : bits & -bits) << ROUNDING_SHIFT;
    for (let part = 0; part < BREAK_CELL; part += BREAK_PART) {
      to = weighPeak(bends + 96 + ((<usize>part) << 2), cell * BREAK_CELL + part, rounding, leastRatio, edges, bins, to);
    }
  }
  store<f64>(magnitude, magnitudeOf(least, most));
  return <i32>((to - out) >> 4);
}

@inline
function weighPeak(bend: usize, index: i32, rounding: u32, leastRatio: f64, edges: usize, bins: usize, to: usize): usize {
  const a = v128.load(bend), b = v128.load(bend, 16), c = v128.load(bend, 32), d = v128.load(bend, 48);
  const e = v128.load(bend, 64), f = v128.load(bend, 80), g = v128.load(bend, 96), h = v128.load(bend, 112);
  const most = i32x4.max_s(
    i32x4.max_s(i32x4.max_s(a, b), i32x4.max_s(c, d)),
    i32x4.max_s(i32x4.max_s(e, f), i32x4.max_s(g, h)),
  );
  const all = largest4(most);
  const peak = i32x4.extract_lane(all, 0);
  // Which of the 32 it is: a byte each, 16 at a time.
  const early = i8x16.narrow_i16x8_s(
    i16x8.narrow_i32x4_s(i32x4.eq(a, all), i32x4.eq(b, all)),
    i16x8.narrow_i32x4_s(i32x4.eq(c, all), i32x4.eq(d, all)),
  );
  const late = i8x16.narrow_i16x8_s(
    i16x8.narrow_i32x4_s(i32x4.eq(e, all), i32x4.eq(f, all)),
    i16x8.narrow_i32x4_s(i32x4.eq(g, all), i32x4.eq(h, all)),
  );
  const place = ctz(i8x16.bitmask(early) | (i8x16.bitmask(late) << 16));
  const at = bend + ((<usize>place) << 2);
  const before = i32x4.max_s(
    i32x4.max_s(i32x4.max_s(v128.load(at - 96), v128.load(at - 80)), i32x4.max_s(v128.load(at - 64), v128.load(at - 48))),
    v128.load(at - 40),
  );
  const after = i32x4.max_s(
    i32x4.max_s(i32x4.max_s(v128.load(at, 28), v128.load(at, 44)), i32x4.max_s(v128.load(at, 60), v128.load(at, 76))),
    v128.load(at, 84),
  );
  const rest = i32x4.extract_lane(largest4(i32x4.max_s(before, after)), 0);
  // Where nothing sounds around, the lowest bit is that of the peak itself.
  const size = <f64>(rest == 0 ? LEAST_ROUNDING : max(<u32>rest, rounding));
  const ratio = <f64>peak / size;
  if (rest != 0) {
    bump(bins + ((<usize>min(511, max(0, 96 + sixteenths(ratio, edges)))) << 2));
    bump(bins + 2048 + ((<usize>sixteenths(size, edges)) << 2));
  }
  if (ratio < leastRatio) return to;
  // A taller neighbour in the next part speaks for both.
  const own = i32x4.max_s(
    i32x4.max_s(v128.load(at - 24), v128.load(at - 12)),
    i32x4.max_s(v128.load(at, 4), v128.load(at, 12)),
  );
  if (i32x4.extract_lane(largest4(own), 0) > peak) return to;
  store<f64>(to, <f64>(index + place));
  store<f64>(to, ratio, 8);
  return to + 16;
}

/** The largest lane, in all lanes. */
@inline
function largest4(x: v128): v128 {
  const two = i32x4.max_s(x, v128.shuffle<i32>(x, x, 2, 3, 0, 1));
  return i32x4.max_s(two, v128.shuffle<i32>(two, two, 1, 0, 3, 2));
}

/** Whole sixteenths of an octave above 1, rounded down, of a positive number. */
@inline
function sixteenths(x: f64, edges: usize): i32 {
  const bits = reinterpret<i64>(x);
  const five = <usize>((bits >> 47) & 31);
  const mantissa = reinterpret<f64>((bits & 0xfffffffffffff) | 0x3ff0000000000000);
  const bin = load<i32>(edges + (five << 2), 256) + <i32>(mantissa >= load<f64>(edges + (five << 3)));
  return ((<i32>(bits >> 52) - 1023) << 4) + bin;
}

/**
 * ../highest-place.ts: of `cells` cells of 32 samples those between the first and the last are searched for places above `peak`. A sample of context
 * lies to both sides. `filter`: f64 envelope of 24 taps, then 12 times four sums and 12 times four differences. `bounds` has room for two i32 per
 * cell. To `out` as f64: the largest magnitude of all samples, the highest of the places or `peak`, its index after the first cell or -1.
 */
export function highestPlace(
  from: usize,
  cells: i32,
  peak: f64,
  sumOfTaps: f64,
  bend: f64,
  safety: f64,
  filter: usize,
  bounds: usize,
  out: usize,
): void {
  store<f64>(out, boundCells(from, cells, bounds));
  let highest = peak;
  let index: i32 = -1;
  for (let cell = 1, at = bounds + 8; cell < cells - 1; cell++, at += 8) {
    const near = max(load<i32>(at), max(load<i32>(at - 8), load<i32>(at, 8)));
    if ((<f64>near + 1) * sumOfTaps * safety <= highest) continue;
    const bent = max(load<i32>(at, 4), max(load<i32>(at - 4), load<i32>(at, 12)));
    const swing = bend * (4 * (<f64>bent + 1) + 6);
    const first = cell << 5;
    const beside = max(<f64>load<i32>(at) + 1, abs(<f64>load<i32>(from + ((<usize>(first + 32)) << 2))));
    if ((beside + swing) * safety <= highest) continue;
    for (let i = first; i < first + 32; i++) {
      const here = from + ((<usize>i) << 2);
      const magnitude = abs(<f64>load<i32>(here));
      if ((max(magnitude, abs(<f64>load<i32>(here, 4))) + swing) * safety <= highest) continue;
      const canExceed = envelopeAt(here - 44, filter) * safety > highest;
      const most = max(magnitude, canExceed ? highestBetween(here, filter + 192) : 0);
      if (most <= highest) continue;
      highest = most;
      index = i - 32;
    }
  }
  store<f64>(out, highest, 8);
  store<f64>(out, <f64>index, 16);
}

/** Largest magnitude, or one less, and largest second difference of quarters of each cell; returns the largest magnitude of all. */
function boundCells(from: usize, cells: i32, bounds: usize): f64 {
  let least = i32x4.splat(0);
  let most = i32x4.splat(0);
  for (let cell = 0, at = from, to = bounds; cell < cells; cell++, to += 8) {
    let low = i32x4.splat(0);
    let high = i32x4.splat(0);
    let bends = i32x4.splat(0);
    for (const end = at + 8 * V; at < end; at += V) {
      const x = v128.load(at);
      low = i32x4.min_s(low, x);
      high = i32x4.max_s(high, x);
      const sides = i32x4.add(i32x4.shr_s(v128.load(at - 4), 2), i32x4.shr_s(v128.load(at, 4), 2));
      bends = i32x4.max_s(bends, onesMagnitude(i32x4.sub(sides, i32x4.shl(i32x4.shr_s(x, 2), 1))));
    }
    least = i32x4.min_s(least, low);
    most = i32x4.max_s(most, high);
    store<i32>(to, i32x4.extract_lane(largest4(i32x4.max_s(high, v128.not(low))), 0));
    store<i32>(to, i32x4.extract_lane(largest4(bends), 0), 4);
  }
  return magnitudeOf(least, most);
}

/** Sum of the magnitudes of 24 samples times the envelope. */
@inline
function envelopeAt(first: usize, envelope: usize): f64 {
  let early = f64x2.splat(0);
  let late = f64x2.splat(0);
  for (let k: usize = 0; k < 6; k++) {
    const x = v128.load(first + (k << 4));
    early = f64x2.add(early, f64x2.mul(f64x2.abs(f64x2.convert_low_i32x4_s(x)), v128.load(envelope + (k << 5))));
    late = f64x2.add(late, f64x2.mul(f64x2.abs(f64x2.convert_low_i32x4_s(upper(x))), v128.load(envelope + (k << 5), 16)));
  }
  const both = f64x2.add(early, late);
  return f64x2.extract_lane(both, 0) + f64x2.extract_lane(both, 1);
}

/** Four rows side by side, each summed in the order of its twin. */
function highestBetween(here: usize, rows: usize): f64 {
  let even = f64x2.splat(0), Even = f64x2.splat(0);
  let odd = f64x2.splat(0), Odd = f64x2.splat(0);
  for (let k: usize = 0; k < 12; k++) {
    const left = <f64>load<i32>(here - 44 + (k << 2));
    const right = <f64>load<i32>(here + 48 - (k << 2));
    const sum = f64x2.splat(left + right);
    const difference = f64x2.splat(left - right);
    const at = rows + (k << 5);
    even = f64x2.add(even, f64x2.mul(v128.load(at), sum));
    Even = f64x2.add(Even, f64x2.mul(v128.load(at, 16), sum));
    odd = f64x2.add(odd, f64x2.mul(v128.load(at, 384), difference));
    Odd = f64x2.add(Odd, f64x2.mul(v128.load(at, 400), difference));
  }
  const a = f64x2.add(f64x2.abs(even), f64x2.abs(odd));
  const b = f64x2.add(f64x2.abs(Even), f64x2.abs(Odd));
  const most = f64x2.max(a, b);
  return max(f64x2.extract_lane(most, 0), f64x2.extract_lane(most, 1));
}

/** Of the least and the greatest of four lanes of samples. */
function magnitudeOf(least: v128, most: v128): f64 {
  return max(<f64>i32x4.extract_lane(largest4(most), 0), -<f64>min4(least));
}

@inline
function onesMagnitude(x: v128): v128 {
  return v128.xor(x, i32x4.shr_s(x, 31));
}

/**
 * Four neighbouring channels of little-endian 24-bit samples, `frameBytes` from frame to frame, to four planes. Up to four bytes behind the last sample are
 * read and not used. `frames` is a multiple of 4.
 */
export function unpack24(from: usize, frames: i32, frameBytes: i32, a: usize, b: usize, c: usize, d: usize): void {
  const step = <usize>frameBytes;
  const bytes = (<usize>frames) << 2;
  let at = from;
  for (let to: usize = 0; to < bytes; to += V) {
    const p = fourOf24(at);
    const q = fourOf24(at + step);
    const r = fourOf24(at + 2 * step);
    const s = fourOf24(at + 3 * step);
    at += step << 2;
    const pq = v128.shuffle<i32>(p, q, 0, 4, 1, 5), rs = v128.shuffle<i32>(r, s, 0, 4, 1, 5);
    const PQ = v128.shuffle<i32>(p, q, 2, 6, 3, 7), RS = v128.shuffle<i32>(r, s, 2, 6, 3, 7);
    v128.store(a + to, v128.shuffle<i64>(pq, rs, 0, 2));
    v128.store(b + to, v128.shuffle<i64>(pq, rs, 1, 3));
    v128.store(c + to, v128.shuffle<i64>(PQ, RS, 0, 2));
    v128.store(d + to, v128.shuffle<i64>(PQ, RS, 1, 3));
  }
}

/** Each sample in the upper bytes of its lane; what stands below falls out. */
@inline
function fourOf24(at: usize): v128 {
  const x = v128.load(at);
  return i32x4.shr_s(v128.shuffle<i8>(x, x, 0, 0, 1, 2, 3, 3, 4, 5, 6, 6, 7, 8, 9, 9, 10, 11), 8);
}

/** The opposite way. */
export function pack24(a: usize, b: usize, c: usize, d: usize, frames: i32, to: usize, frameBytes: i32): void {
  const step = <usize>frameBytes;
  const bytes = (<usize>frames) << 2;
  let at = to;
  for (let from: usize = 0; from < bytes; from += V) {
    const p = v128.load(a + from), q = v128.load(b + from), r = v128.load(c + from), s = v128.load(d + from);
    const pq = v128.shuffle<i32>(p, q, 0, 4, 1, 5), rs = v128.shuffle<i32>(r, s, 0, 4, 1, 5);
    const PQ = v128.shuffle<i32>(p, q, 2, 6, 3, 7), RS = v128.shuffle<i32>(r, s, 2, 6, 3, 7);
    storeAs24(at, v128.shuffle<i64>(pq, rs, 0, 2));
    storeAs24(at + step, v128.shuffle<i64>(pq, rs, 1, 3));
    storeAs24(at + 2 * step, v128.shuffle<i64>(PQ, RS, 0, 2));
    storeAs24(at + 3 * step, v128.shuffle<i64>(PQ, RS, 1, 3));
    at += step << 2;
  }
}

@inline
function storeAs24(at: usize, x: v128): void {
  const bytes = v128.shuffle<i8>(x, x, 0, 1, 2, 4, 5, 6, 8, 9, 10, 12, 13, 14, 3, 7, 11, 15);
  v128.store64_lane(at, bytes, 0);
  v128.store32_lane(at, bytes, 2, 8);
}

/**
 * ../anchor-places.ts: pairs of index and rolling hash at which the hash is `aim` under `mask`, to `out`; returns their number. `state`: the hash before the
 * first sample, and after the last one. Four hashes at a time: what a sample adds moves up one bit for each place.
 */
export function anchorPlaces(
  from: usize,
  count: i32,
  shift: i32,
  spread: i32,
  mask: i32,
  aim: i32,
  state: usize,
  out: usize,
): i32 {
  const spreads = i32x4.splat(spread), masks = i32x4.splat(mask), aims = i32x4.splat(aim);
  const near = i32x4(2, 4, 8, 16), far = i32x4(32, 64, 128, 256);
  let before = i32x4.splat(load<i32>(state));
  let to = out;
  let i = 0;
  for (; i + 8 <= count; i += 8) {
    const at = from + ((<usize>i) << 2);
    const a = rolled(i32x4.shl(v128.load(at), shift), spreads);
    const b = rolled(i32x4.shl(v128.load(at, 16), shift), spreads);
    const first = i32x4.add(a, i32x4.mul(before, near));
    const own = i32x4.add(b, i32x4.mul(v128.shuffle<i32>(a, a, 3, 3, 3, 3), near));
    const second = i32x4.add(own, i32x4.mul(before, far));
    before = v128.shuffle<i32>(second, second, 3, 3, 3, 3);
    const hits = i32x4.eq(v128.and(first, masks), aims);
    const more = i32x4.eq(v128.and(second, masks), aims);
    if (!v128.any_true(v128.or(hits, more))) continue;
    v128.store(state, first);
    v128.store(state, second, 16);
    let bits = i32x4.bitmask(hits) | (i32x4.bitmask(more) << 4);
    while (bits != 0) {
      const place = ctz(bits);
      store<i32>(to, i + place);
      store<i32>(to, load<i32>(state + ((<usize>place) << 2)), 4);
      to += 8;
      bits &= bits - 1;
    }
  }
  let hash = i32x4.extract_lane(before, 0);
  for (; i < count; i++) {
    const value = load<i32>(from + ((<usize>i) << 2)) << shift;
    hash = (hash << 1) + (value ^ (value >>> 16)) * spread;
    if ((hash & mask) != aim) continue;
    store<i32>(to, i);
    store<i32>(to, hash, 4);
    to += 8;
  }
  store<i32>(state, hash);
  return <i32>((to - out) >> 3);
}

/** What four samples add up to, each with what the ones before it in the vector have become. */
@inline
function rolled(x: v128, spread: v128): v128 {
  const zero = i32x4.splat(0);
  const own = i32x4.mul(v128.xor(x, i32x4.shr_u(x, 16)), spread);
  const two = i32x4.add(own, i32x4.shl(v128.shuffle<i32>(zero, own, 0, 4, 5, 6), 1));
  return i32x4.add(two, i32x4.shl(v128.shuffle<i32>(zero, two, 0, 1, 4, 5), 2));
}

/**
 * ../largest-looks.ts: the largest magnitude, as u32, of the samples `first`, `first` + 7 ... of each window, to `out`. The first window ends
 * before sample `end`, each further one `window` later, the last with the plane.
 */
export function largestLooks(from: usize, count: i32, first: i32, end: i32, window: i32, out: usize): void {
  let i = first;
  let to = out;
  for (let next = min(end, count); ; next = min(next + window, count)) {
    let least = 0;
    let most = 0;
    for (; i < next; i += 7) {
      const x = load<i32>(from + ((<usize>i) << 2));
      least = min(least, x);
      most = max(most, x);
    }
    store<u32>(to, max<u32>(<u32>most, -(<u32>least)));
    to += 4;
    if (next == count) return;
  }
}

/** ../predictor-fit.ts: adds to `sums` the products of the `count` f64 at `x`, rows of `order` + 1. */
export function addProducts(x: usize, count: i32, order: i32, sums: usize): void {
  const row = (<usize>(order + 1)) << 3;
  const end = x + ((<usize>count) << 3);
  const first = x + ((<usize>order) << 3);
  const products = sums + row * <usize>(order + 1);
  for (let lag = 0; lag <= order; lag += 4) laggedProducts(first, end, lag, products + ((<usize>lag) << 3));
  for (let lag = 0; lag <= order; lag++) {
    let sum = load<f64>(products + ((<usize>lag) << 3));
    let at = sums + ((<usize>lag) << 3);
    store<f64>(at, load<f64>(at) + sum);
    const back = (<usize>lag) << 3;
    for (let i: usize = 8; i + back < row; i += 8) {
      at += row + 8;
      const gained = load<f64>(first - i) * load<f64>(first - i - back);
      sum += gained - load<f64>(end - i) * load<f64>(end - i - back);
      store<f64>(at, load<f64>(at) + sum);
    }
  }
}

/** Four lags from one on, each in four sums as its twin has them; of lags beyond the order the results are not looked at. */
function laggedProducts(first: usize, end: usize, lag: i32, out: usize): void {
  let ab0 = f64x2.splat(0), cd0 = ab0, ab1 = ab0, cd1 = ab0, ab2 = ab0, cd2 = ab0, ab3 = ab0, cd3 = ab0;
  let n = first;
  let m = first - ((<usize>lag) << 3);
  for (; n + 32 <= end; n += 32, m += 32) {
    const x = v128.load(n), y = v128.load(n, 16);
    ab0 = f64x2.add(ab0, f64x2.mul(x, v128.load(m)));
    cd0 = f64x2.add(cd0, f64x2.mul(y, v128.load(m, 16)));
    ab1 = f64x2.add(ab1, f64x2.mul(x, v128.load(m - 8)));
    cd1 = f64x2.add(cd1, f64x2.mul(y, v128.load(m + 8)));
    ab2 = f64x2.add(ab2, f64x2.mul(x, v128.load(m - 16)));
    cd2 = f64x2.add(cd2, f64x2.mul(y, v128.load(m)));
    ab3 = f64x2.add(ab3, f64x2.mul(x, v128.load(m - 24)));
    cd3 = f64x2.add(cd3, f64x2.mul(y, v128.load(m - 8)));
  }
  store<f64>(out, lastProducts(ab0, cd0, n, m, end));
  store<f64>(out, lastProducts(ab1, cd1, n, m - 8, end), 8);
  store<f64>(out, lastProducts(ab2, cd2, n, m - 16, end), 16);
  store<f64>(out, lastProducts(ab3, cd3, n, m - 24, end), 24);
}

@inline
function lastProducts(ab: v128, cd: v128, from: usize, back: usize, end: usize): f64 {
  let a = f64x2.extract_lane(ab, 0);
  for (let n = from, m = back; n < end; n += 8, m += 8) a += load<f64>(n) * load<f64>(m);
  return a + f64x2.extract_lane(ab, 1) + (f64x2.extract_lane(cd, 0) + f64x2.extract_lane(cd, 1));
}

/**
 * ../predictor-fit.ts: the factor of a symmetric positive definite matrix of f64 takes the place of its upper half, and the solution that of `right`.
 * `n` rows, which lie `stride` bytes apart, an even number of f64. Returns 0 where the matrix is not positive definite. Whatever is subtracted of a place is
 * so in the order of the twin.
 */
export function solveSymmetric(matrix: usize, right: usize, n: i32, stride: usize): i32 {
  const end = (<usize>n) << 3;
  let row = matrix;
  for (let k: usize = 0; k < end; k += 8, row += stride) {
    const diagonal = load<f64>(row + k);
    if (!(diagonal > 0)) return 0;
    const root = sqrt(diagonal);
    store<f64>(row + k, root);
    const y = load<f64>(right + k) / root;
    store<f64>(right + k, y);
    for (let i = k + 8; i < end; i += 8) {
      const l = load<f64>(row + i) / root;
      store<f64>(row + i, l);
      store<f64>(right + i, load<f64>(right + i) - l * y);
    }
    for (let j = k + 8, other = row + stride; j < end; j += 8, other += stride) {
      const l = v128.load64_splat(row + j);
      // From an even place on: what stands below the diagonal is not looked at, nor what stands behind the last.
      for (let i = j & ~15; i < end; i += V) {
        v128.store(other + i, f64x2.sub(v128.load(other + i), f64x2.mul(l, v128.load(row + i))));
      }
    }
  }
  for (let i = <isize>end - 8; i >= 0; i -= 8) {
    row -= stride;
    let y = load<f64>(right + i);
    for (let k = <usize>i + 8; k < end; k += 8) y -= load<f64>(row + k) * load<f64>(right + k);
    store<f64>(right + i, y / load<f64>(row + i));
  }
  return 1;
}
