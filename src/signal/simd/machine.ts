// The kernels and the layout of their memory. Nothing survives between two calls, so every caller brings its samples in, runs and reads
// out. One instance for samples from anywhere, one more for each memory whose planes it finds in place. Not for what is computed: assembly/kernels.ts.
import { KERNELS_WASM, SHARED_AT } from './kernels-wasm.ts';

/** Samples that a plane area holds: a block of the usual length and the context around it. */
export const PLANE_FRAMES = 65_536 + 1024;

/** Byte addresses in a workspace. The list takes whatever a kernel writes per sample or per cell. */
const LAYOUT = {
  sums: 1024,
  levels: 1536,
  lowestBits: 2048,
  octaves: 4096,
  coefficients: 9216,
  state: 9472,
  plane: 0x1_0000,
  second: 0x6_0000,
  list: 0xb_0000,
};

/** One for each thread that uses a memory. */
export const WORKSPACE_BYTES = 0x10_0000;
const PAGE_BYTES = 0x1_0000;
const SHARED = 3;
const UNSHARED = 1;

interface Kernels {
  move(to: number, from: number, bytes: number): void;
  sums(from: number, count: number, out: number): void;
  narrowSums(from: number, count: number, out: number): void;
  octaves(from: number, count: number, table: number): void;
  lowestBits(from: number, count: number, levels: number, out: number): void;
  meanCells(from: number, cells: number, cellFrames: number, most: number, sums: number, out: number): number;
  holdCells(from: number, cells: number, cellFrames: number, sums: number, out: number): number;
  largestLooks(from: number, count: number, first: number, end: number, window: number, out: number): void;
  addProducts(x: number, count: number, order: number, sums: number): void;
  solveSymmetric(matrix: number, right: number, n: number, stride: number): number;
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
  unpack24(from: number, frames: number, frameBytes: number, a: number, b: number, c: number, d: number): void;
  pack24(a: number, b: number, c: number, d: number, frames: number, to: number, frameBytes: number): void;
  anchorPlaces(
    from: number,
    count: number,
    shift: number,
    spread: number,
    mask: number,
    aim: number,
    state: number,
    out: number,
  ): number;
}

export interface Machine {
  readonly kernels: Kernels;
  /** byte addresses of its workspace */
  readonly at: Readonly<typeof LAYOUT>;
  readonly bytes: Uint8Array;
  /** the whole memory; index = byte address / 4 */
  readonly words: Int32Array;
  /** the same; index = byte address / 8 */
  readonly reals: Float64Array;
}

/** Named here: neither the DOM's nor Node's types belong to the pure layers. */
export interface WasmMemory {
  readonly buffer: ArrayBufferLike;
}

let usual: Machine | undefined;
const bySharedBuffer = new WeakMap<ArrayBufferLike, Machine>();

/** Where the samples need not be copied, or the usual one. */
export function machineOf(samples: Int32Array): Machine {
  const shared = bySharedBuffer.get(samples.buffer);
  return shared ?? usualMachine();
}

/** For what lies nowhere in particular. */
export function usualMachine(): Machine {
  usual ??= start(newMemory(WORKSPACE_BYTES, false), 0, false);
  return usual;
}

/** From now on this thread finds samples in that memory in place, and works in that workspace. */
export function useMemory(memory: WasmMemory, workspace: number): void {
  bySharedBuffer.set(memory.buffer, start(memory, workspace * WORKSPACE_BYTES, true));
}

/** Where up to PLANE_FRAMES samples are for the kernels: in place, or copied to a plane area. */
export function placed(it: Machine, samples: Int32Array, area: number): number {
  if (samples.buffer === it.words.buffer) return samples.byteOffset;
  it.words.set(samples, area / 4);
  return area;
}

/** Copies them in any case. */
export function copyIn(it: Machine, samples: Int32Array, to: number): void {
  if (samples.buffer === it.words.buffer) it.kernels.move(to, samples.byteOffset, samples.byteLength);
  else it.words.set(samples, to / 4);
}

interface Wasm {
  readonly Memory: new (limits: { initial: number; maximum: number; shared: boolean }) => WasmMemory;
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports: object) => { readonly exports: unknown };
}

function wasm(): Wasm {
  return (globalThis as unknown as { WebAssembly: Wasm }).WebAssembly;
}

export function newMemory(bytes: number, isShared: boolean): WasmMemory {
  const pages = Math.ceil(bytes / PAGE_BYTES);
  return new (wasm().Memory)({ initial: pages, maximum: pages, shared: isShared });
}

function start(memory: WasmMemory, base: number, isShared: boolean): Machine {
  const bytes = fromBase64(KERNELS_WASM);
  bytes[SHARED_AT] = isShared ? SHARED : UNSHARED;
  const { exports } = new (wasm().Instance)(new (wasm().Module)(bytes), { env: { memory } });
  const { buffer } = memory;
  const at = Object.fromEntries(Object.entries(LAYOUT).map(([name, address]) => [name, base + address]));
  return {
    kernels: exports as Kernels,
    at: at as typeof LAYOUT,
    bytes: new Uint8Array(buffer),
    words: new Int32Array(buffer),
    reals: new Float64Array(buffer),
  };
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
