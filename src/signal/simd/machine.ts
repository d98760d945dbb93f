// The one instance of the kernels and the layout of its memory. Made when first needed; nothing survives between two calls,
// so every caller copies in, runs and reads out. Not for what the kernels compute: assembly/kernels.ts.
import { KERNELS_WASM } from './kernels-wasm.ts';

/** Samples that a plane area holds: a block of the usual length and the context around it. */
export const PLANE_FRAMES = 65_536 + 1024;

/** Byte addresses. The list takes whatever a kernel writes per sample or per cell. */
export const AT = {
  sums: 1024,
  levels: 1536,
  lowestBits: 2048,
  octaves: 4096,
  coefficients: 9216,
  state: 9472,
  plane: 0x1_0000,
  second: 0x6_0000,
  list: 0xb_0000,
} as const;

interface Kernels {
  sums(from: number, count: number, out: number): void;
  narrowSums(from: number, count: number, out: number): void;
  octaves(from: number, count: number, table: number): void;
  lowestBits(from: number, count: number, levels: number, out: number): void;
  firstDifferenceSums(from: number, cells: number, cellFrames: number, out: number): void;
  secondDifferenceSums(from: number, cells: number, cellFrames: number, out: number): void;
  meanHits(from: number, frames: number, most: number, out: number): number;
  holdHits(from: number, frames: number, out: number): number;
  weightedEnergies(
    from: number,
    stride: number,
    frames: number,
    ends: number,
    count: number,
    coefficients: number,
    state: number,
    out: number,
  ): void;
  breaks(
    from: number,
    cells: number,
    leastRatio: number,
    edges: number,
    bends: number,
    bins: number,
    magnitude: number,
    out: number,
  ): number;
  highestPlace(
    from: number,
    cells: number,
    peak: number,
    sumOfTaps: number,
    bend: number,
    safety: number,
    filter: number,
    bounds: number,
    out: number,
  ): void;
  windowMatches(
    from: number,
    count: number,
    firstFrame: number,
    table: number,
    shortest: number,
    longest: number,
    factors: number,
    out: number,
  ): number;
  zeroRuns(from: number, count: number, shortest: number, out: number): number;
  firstDifference(a: number, b: number, count: number): number;
  total(from: number, count: number): number;
  facts(from: number, count: number, out: number): void;
}

export interface Machine {
  readonly kernels: Kernels;
  /** the whole memory; index = byte address / 4 */
  readonly words: Int32Array;
  /** the same; index = byte address / 8 */
  readonly reals: Float64Array;
}

let instance: Machine | undefined;

export function machine(): Machine {
  instance ??= start();
  return instance;
}

/** Copies up to PLANE_FRAMES samples to a plane area. */
export function copyIn({ words }: Machine, samples: Int32Array, at: number): void {
  words.set(samples, at / 4);
}

interface WasmGlobal {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
}

function start(): Machine {
  // Named through globalThis: neither the DOM's nor Node's types belong to the pure layers.
  const wasm = (globalThis as unknown as { WebAssembly: WasmGlobal }).WebAssembly;
  const { exports } = new wasm.Instance(new wasm.Module(fromBase64(KERNELS_WASM)));
  const kernels = exports as Kernels & { readonly memory: { readonly buffer: ArrayBuffer } };
  const { buffer } = kernels.memory;
  return { kernels, words: new Int32Array(buffer), reals: new Float64Array(buffer) };
}

const DIGITS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';

/** RFC 4648, section 4. Here because what Node and browsers offer is not in the language yet. */
function fromBase64(text: string): Uint8Array {
  const digits = text.replace(/=+$/, '');
  const bytes = new Uint8Array(Math.floor((digits.length * 3) / 4));
  let bits = 0;
  for (let i = 0, to = 0; i < digits.length; i++) {
    bits = (bits << 6) | DIGITS.indexOf(digits[i]);
    if (i % 4 > 0) bytes[to++] = bits >> (6 - 2 * (i % 4));
  }
  return bytes;
}
