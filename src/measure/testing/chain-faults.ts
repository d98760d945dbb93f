// Captures of the chain signal with faults made by plain arithmetic, so that their truth is known: for tests only. What other programs do to it is in
// tasks/chain-files.test.ts.
import { type FrameSource, memorySource, type Rate, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import { type ChainSignal, chainSignal } from '../chain/layout.ts';
import { signalSource } from '../chain/test-signal.ts';

export type Planes = readonly Int32Array[];

export interface Sent {
  readonly signal: ChainSignal;
  readonly planes: Planes;
  readonly bits: number;
}

/** The shortest signal. */
export async function shortSignal(bits: number, at = rate(48_000)): Promise<Sent> {
  const signal = chainSignal(at, bits, 0);
  const source = signalSource(signal);
  return { signal, bits, planes: (await source.read(0, source.info.frames)).planes };
}

/** What lies before and after the signal in a capture. */
export type Surroundings = 'silence' | 'noise' | 'music';

export interface CaptureShape {
  readonly before?: number;
  readonly after?: number;
  readonly around?: Surroundings;
  readonly label?: Rate;
  readonly bits?: number;
  readonly seed?: number;
}

export function captureOf(sent: Sent, planes: Planes, shape: CaptureShape = {}): FrameSource {
  const { before = 4321, after = 1234, around = 'silence', bits = sent.bits, seed = 1 } = shape;
  const random = new Random(seed).fork('around');
  const longest = Math.max(...planes.map((plane) => plane.length));
  const out = planes.map((plane, channel) => {
    const all = new Int32Array(before + longest + after);
    for (let n = 0; n < all.length; n++) {
      if (n < before || n >= before + longest) all[n] = soundAround(around, n, channel, bits, random);
    }
    all.set(plane, before);
    return all;
  });
  return memorySource(out, { name: 'captured.wav', rate: shape.label ?? sent.signal.rate, bits });
}

/** Music: three tones that come and go, loud as records are. */
function soundAround(around: Surroundings, n: number, channel: number, bits: number, random: Random): number {
  if (around === 'silence') return 0;
  const full = 2 ** (bits - 1);
  if (around === 'noise') return Math.round(full * 0.02 * random.gaussian());
  const swell = 0.5 + 0.5 * Math.sin(n / 9000 + channel);
  const tones = Math.sin(n * 0.0288) + Math.sin(n * 0.0432 + 1) + Math.sin(n * 0.0647 + channel);
  return Math.round(full * 0.25 * swell * tones);
}

/** Each sample by itself, kept within the word. */
export function each(sent: Sent, change: (x: number, n: number, channel: number) => number, bits = sent.bits): Planes {
  const top = 2 ** (bits - 1);
  return sent.planes.map((plane, channel) =>
    Int32Array.from(plane, (x, n) => Math.max(-top, Math.min(top - 1, change(x, n, channel)))),
  );
}

/** The frame that stands at each place; the result is as long as asked for. */
export function reordered(planes: Planes, frames: number, from: (n: number) => number): Planes {
  return planes.map((plane) => Int32Array.from({ length: frames }, (_, n) => plane[from(n)] ?? 0));
}

/** A filter by its taps, tap k on the sample k frames before. */
export function filtered(planes: Planes, taps: readonly number[]): Float64Array[] {
  return planes.map((plane) =>
    Float64Array.from(plane, (_, n) => taps.reduce((sum, tap, k) => sum + tap * (plane[n - k] ?? 0), 0)),
  );
}

/** One pole: y += share (x - y). */
export function onePole(planes: Planes, share: number): Float64Array[] {
  return planes.map((plane) => {
    let y = 0;
    return Float64Array.from(plane, (x) => (y += share * (x - y)));
  });
}

export function rounded(planes: readonly Float64Array[], bits: number, add: () => number = () => 0, step = 1): Planes {
  const top = 2 ** (bits - 1);
  return planes.map((plane) =>
    Int32Array.from(plane, (x) => Math.max(-top, Math.min(top - step, step * Math.round((x + step * add()) / step)))),
  );
}
