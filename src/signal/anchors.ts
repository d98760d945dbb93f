// Content-defined anchors: windows of 32 consecutive samples whose hash falls on a lattice, so that two recordings of the
// same numbers pick the same windows wherever they begin. Only equal numbers match; gain, noise or resampling do not.

import { anchorPlaces } from './simd/anchor-places.ts';

/** Samples per window. An anchor's frame is that of its LAST sample. */
export const ANCHOR_WINDOW = 32;
/** A hash met again within this many frames (a tone, a held pattern) is not stored: it could not tell places apart. */
const NEAR_REPEAT_FRAMES = 4096;
const NEAR_SLOTS = 1024;
const MIN_DISTINCT = 3;
const MIN_CHANGES = 8;

export interface AnchorList {
  /** ascending, last frame of each window */
  readonly frames: Float64Array;
  /** 53-bit integers */
  readonly hashes: Float64Array;
  /** windows are chosen with density 2^-level */
  readonly level: number;
}

export interface AnchorScanSettings {
  /** density to begin with: one window in 2^level */
  readonly level: number;
  /** when this many are held, the density is halved and those outside it dropped */
  readonly capacity: number;
  /** keep windows that come again within 4096 frames */
  readonly keepNearRepeats?: boolean;
}

/**
 * Anchors of one channel, pushed in order. Samples are compared left-justified, so 16-bit samples and the same samples
 * in a 24-bit file give the same anchors. Memory: 17 bytes x capacity. The result does not depend on block size.
 */
export class AnchorScanner {
  readonly #shift: number;
  readonly #capacity: number;
  readonly #near: { readonly hashes: Float64Array; readonly frames: Float64Array } | null;
  /** one value, so that the kernel can leave it here */
  readonly #rolling = new Int32Array(1);
  readonly #window = new Int32Array(ANCHOR_WINDOW);
  readonly #tail = new Int32Array(ANCHOR_WINDOW);
  #frames: Float64Array;
  #hashes: Float64Array;
  #levels: Uint8Array;
  #level: number;
  #seen = 0;
  #count = 0;

  /** `bits`: word length of the samples, 1..32. */
  constructor(bits: number, settings: AnchorScanSettings) {
    this.#shift = 32 - bits;
    this.#level = settings.level;
    this.#capacity = settings.capacity;
    const first = Math.min(settings.capacity, 1024);
    this.#frames = new Float64Array(first);
    this.#hashes = new Float64Array(first);
    this.#levels = new Uint8Array(first);
    this.#near = settings.keepNearRepeats
      ? null
      : { hashes: new Float64Array(NEAR_SLOTS).fill(-1), frames: new Float64Array(NEAR_SLOTS) };
  }

  push(plane: Int32Array): void {
    anchorPlaces(plane, this.#shift, this.#level, this.#rolling, (n, level) => {
      // Anchors may have become rarer within this plane.
      if (level >= this.#level) this.#consider(plane, n, level);
    });
    this.#seen += plane.length;
    this.#remember(plane);
  }

  finish(): AnchorList {
    return {
      frames: this.#frames.slice(0, this.#count),
      hashes: this.#hashes.slice(0, this.#count),
      level: this.#level,
    };
  }

  /** The window that ends on plane[n], left-justified, is kept if it can tell places apart. */
  #consider(plane: Int32Array, n: number, level: number): void {
    const frame = this.#seen + n;
    if (frame < ANCHOR_WINDOW - 1) return;
    const from = n - ANCHOR_WINDOW + 1;
    const window = from < 0 ? this.#acrossBlocks(plane, from) : plane;
    const at = Math.max(0, from);
    const shift = from < 0 ? 0 : this.#shift;
    if (isVaried(window, at)) this.#keep(frame, windowHash(window, at, shift), level);
  }

  /** Left-justified; begins `-from` samples before the plane. */
  #acrossBlocks(plane: Int32Array, from: number): Int32Array {
    for (let k = 0; k < ANCHOR_WINDOW; k++) {
      this.#window[k] = from + k < 0 ? this.#tail[from + k + ANCHOR_WINDOW] : plane[from + k] << this.#shift;
    }
    return this.#window;
  }

  /** The last 32 samples, for windows that reach over the edge of two blocks. */
  #remember(plane: Int32Array): void {
    const fresh = Math.min(plane.length, ANCHOR_WINDOW);
    this.#tail.copyWithin(0, fresh);
    for (let k = 0; k < fresh; k++) {
      this.#tail[ANCHOR_WINDOW - fresh + k] = plane[plane.length - fresh + k] << this.#shift;
    }
  }

  #keep(frame: number, hash: number, level: number): void {
    if (this.#isNearRepeat(frame, hash)) return;
    if (this.#count === this.#frames.length) this.#makeRoom();
    if (level < this.#level) return;
    this.#frames[this.#count] = frame;
    this.#hashes[this.#count] = hash;
    this.#levels[this.#count++] = level;
  }

  #isNearRepeat(frame: number, hash: number): boolean {
    if (!this.#near) return false;
    const slot = hash % NEAR_SLOTS;
    const repeated = this.#near.hashes[slot] === hash && frame - this.#near.frames[slot] < NEAR_REPEAT_FRAMES;
    this.#near.hashes[slot] = hash;
    this.#near.frames[slot] = frame;
    return repeated;
  }

  #makeRoom(): void {
    if (this.#count < this.#capacity) {
      const size = Math.min(this.#capacity, this.#count * 2);
      this.#frames = grow(this.#frames, new Float64Array(size));
      this.#hashes = grow(this.#hashes, new Float64Array(size));
      this.#levels = grow(this.#levels, new Uint8Array(size));
      return;
    }
    while (this.#count > this.#capacity / 2 && this.#level < 31) this.#thin();
    // Only a hostile signal gets here (every window of the same rarest class): forget the oldest half.
    if (this.#count === this.#capacity) this.#count >>= 1;
  }

  #thin(): void {
    this.#level++;
    let kept = 0;
    for (let n = 0; n < this.#count; n++) {
      if (this.#levels[n] < this.#level) continue;
      this.#frames[kept] = this.#frames[n];
      this.#hashes[kept] = this.#hashes[n];
      this.#levels[kept++] = this.#levels[n];
    }
    this.#count = kept;
  }
}

function grow<T extends Float64Array | Uint8Array>(from: T, to: T): T {
  to.set(from);
  return to;
}

/** Windows with hardly any movement (silence, held values, a slow ramp of one step) look alike everywhere. */
function isVaried(samples: Int32Array, from: number): boolean {
  const first = samples[from];
  let second = first;
  let distinct = 1;
  let changes = 0;
  for (let n = from + 1; n < from + ANCHOR_WINDOW; n++) {
    const v = samples[n];
    if (v !== samples[n - 1]) changes++;
    if (distinct === 1 && v !== first) {
      second = v;
      distinct = 2;
    } else if (distinct === 2 && v !== first && v !== second) distinct = MIN_DISTINCT;
    if (changes >= MIN_CHANGES && distinct >= MIN_DISTINCT) return true;
  }
  return false;
}

/**
 * 53 bits from two independent 32-bit mixes (multiply and fold, common practice). Two unlike windows agree with chance
 * 1.1e-16: among 10^5 x 10^5 pairs of windows 1e-6 false matches are expected. `shift` makes the samples left-justified.
 */
function windowHash(samples: Int32Array, from: number, shift: number): number {
  let a = 0x2545f491;
  let b = 0x6c8e9cf5;
  for (let n = from; n < from + ANCHOR_WINDOW; n++) {
    const x = samples[n] << shift;
    const v = x ^ (x >>> 16);
    a = Math.imul(a ^ v, 0x85ebca6b);
    a ^= a >>> 13;
    b = Math.imul((b + v) | 0, 0xc2b2ae35);
    b ^= b >>> 15;
  }
  a = Math.imul(a ^ (a >>> 16), 0x27d4eb2f);
  b = Math.imul(b ^ (b >>> 14), 0x165667b1);
  return ((a ^ (a >>> 15)) >>> 0) * 0x200000 + ((b ^ (b >>> 16)) >>> 11);
}
