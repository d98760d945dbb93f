// Captures of the test programme whose truth is known: through a linear word or a law, filters, gains, delays, clocks and noise, all given.
// For tests and the score only. Not for damage (simulate/).
import { type FrameSource, memorySource, type Rate, rate, type SegmentLaw } from '../../base/index.ts';
import { compress, expand, Random, resampleReal } from '../../signal/index.ts';
import { programmePlan } from '../programme/plan.ts';
import { programmeBlocks, programmeFrames } from '../programme/write-programme.ts';

export interface Device {
  /** rate at which the device samples; the programme's own when left out */
  readonly tapeHz?: number;
  /** linear word; without it and without a law nothing is quantised */
  readonly word?: number;
  readonly shorten?: 'round' | 'truncate';
  readonly law?: SegmentLaw;
  /** before the converter, dB */
  readonly recordDb?: number;
  /** rms against full scale, before the converter */
  readonly inputNoiseDb?: number;
  /** stop band of the filters at both ends of the device, dB; 100 when left out */
  readonly filterDb?: number;
  /** length of those filters; 24 when left out, fewer are quicker and end the band earlier */
  readonly halfTaps?: number;
  /** analogue output into a recorder at this rate; without it the words themselves are captured */
  readonly captureHz?: number;
  /** rms against full scale, added behind the device */
  readonly outputNoiseDb?: number;
  readonly outputDb?: number;
  /** the recorder's clock against the true one, parts per million */
  readonly ppm?: number;
  /** frames before the programme, may be fractional for an analogue capture */
  readonly lead?: number;
  readonly captureBits?: number;
  /** what the file claims; the rate it was made at when left out */
  readonly label?: Rate;
  /** what happens to each channel on the way, at the capture's rate, in place */
  readonly change?: (planes: readonly Float64Array[], hz: number) => void;
  readonly seed?: number;
}

/** The programme, full scale 1. */
export function programmeWaves(hz = 48_000, bits = 24): { readonly hz: number; readonly planes: Float64Array[] } {
  const plan = programmePlan(rate(hz), bits);
  const planes = [new Float64Array(programmeFrames(plan)), new Float64Array(programmeFrames(plan))];
  for (const block of programmeBlocks(plan)) {
    for (const [c, plane] of block.planes.entries()) {
      for (let n = 0; n < block.frames; n++) planes[c][block.start + n] = plane[n] / 2 ** (bits - 1);
    }
  }
  return { hz, planes };
}

export function captureThrough(
  device: Device,
  programme: { readonly hz: number; readonly planes: readonly Float64Array[] } = programmeWaves(),
): FrameSource {
  const random = new Random(device.seed ?? 1);
  const tapeHz = device.tapeHz ?? programme.hz;
  const lead = device.lead ?? 1000;
  const options = { halfTaps: device.halfTaps ?? 24, attenuationDb: device.filterDb ?? 100 };
  let planes = programme.planes.map((plane, c) => {
    const frames = Math.ceil((plane.length / programme.hz) * tapeHz) + Math.ceil(lead) + 500;
    const whole = Math.round(lead);
    let moved: Float64Array;
    if (tapeHz === programme.hz) {
      moved = new Float64Array(frames);
      moved.set(plane.subarray(0, Math.min(plane.length, frames - whole)), whole);
    } else moved = resampleReal(plane, (-whole * programme.hz) / tapeHz, programme.hz / tapeHz, frames, options);
    return recorded(moved, device, random.fork(`input ${c}`));
  });
  let hz = tapeHz;
  if (device.captureHz !== undefined) {
    const out = device.captureHz * (1 + (device.ppm ?? 0) / 1e6);
    const frames = Math.ceil((planes[0].length / hz) * out);
    planes = planes.map((plane) => resampleReal(plane, Math.round(lead) - lead, hz / out, frames, options));
    hz = device.captureHz;
  }
  device.change?.(planes, hz);
  const bits = device.captureBits ?? 24;
  const top = 2 ** (bits - 1);
  const gain = 10 ** ((device.outputDb ?? 0) / 20);
  const noise = device.outputNoiseDb === undefined ? 0 : 10 ** (device.outputNoiseDb / 20);
  const integers = planes.map((plane, c) => {
    const hiss = random.fork(`output ${c}`);
    const out = new Int32Array(plane.length);
    for (let n = 0; n < out.length; n++) {
      const y = plane[n] * gain + (noise > 0 ? noise * hiss.gaussian() : 0);
      out[n] = Math.max(-top, Math.min(top - 1, Math.round(y * top)));
    }
    return out;
  });
  return memorySource(integers, { name: 'capture.wav', rate: device.label ?? rate(Math.round(hz)), bits });
}

function recorded(plane: Float64Array, device: Device, random: Random): Float64Array {
  const gain = 10 ** ((device.recordDb ?? 0) / 20);
  const noise = device.inputNoiseDb === undefined ? 0 : 10 ** (device.inputNoiseDb / 20);
  const bits = device.law?.linearBits ?? device.word;
  const top = 2 ** ((bits ?? 24) - 1);
  const half = device.shorten === 'round' ? 0.5 : 0;
  const { law } = device;
  return plane.map((x) => {
    const y = x * gain + (noise > 0 ? noise * random.gaussian() : 0);
    if (bits === undefined) return y;
    const word = Math.max(-top, Math.min(top - 1, Math.floor(y * top + half)));
    return (law ? expand(law, compress(law, word)) : word) / top;
  });
}
