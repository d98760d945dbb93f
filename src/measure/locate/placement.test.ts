// Truth: the device of the test, whose rate, delay, polarity and noise are given. Tolerances: 0.02 frame at noise of -60 dBFS, from the
// energy of a pilot against such noise; a ten-thousandth of that holds without noise.
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { Random } from '../../signal/index.ts';
import { captureThrough, programmeWaves } from '../testing/captures.ts';
import { locateProgramme } from './placement.ts';

const programme = programmeWaves();

describe('the programme is found', () => {
  it('to the frame, in a plain copy', async () => {
    const place = await locateProgramme(captureThrough({ lead: 1234 }, programme));
    expect(place.framesPerSecond).toBeCloseTo(48_000, 4);
    expect(place.frameOf(0)).toBeCloseTo(1234, 3);
    expect(place.plan.bits).toBe(24);
    expect(place.channels.map((channel) => channel.isInverted)).toEqual([false, false]);
  });

  it.each([
    ['a label of 32 kHz on 31.25 kHz sound', 31_250, undefined, rate(32_000), 31_250],
    ['a label of 48 kHz on 31.25 kHz sound', 31_250, undefined, rate(48_000), 31_250],
    ['an analogue output and a recorder 40 ppm fast', 31_250, 44_100, rate(44_100), 44_100 * 1.00004],
  ])('through %s', async (_, tapeHz, captureHz, label, truth) => {
    const invert = (planes: readonly Float64Array[]) => planes[1].set(planes[1].map((x) => -x));
    const device = { tapeHz, lead: 700, label, change: invert, outputNoiseDb: -60, halfTaps: 8, filterDb: 50 };
    const place = await locateProgramme(
      captureThrough(captureHz ? { ...device, captureHz, ppm: 40, lead: 700.5 } : device, programme),
    );
    expect(Math.abs(place.framesPerSecond / truth - 1)).toBeLessThan(2e-8);
    expect(Math.abs(place.frameOf(0) - (captureHz ? (700.5 / tapeHz) * truth : 700))).toBeLessThan(0.05);
    expect(place.channels.map((channel) => channel.isInverted)).toEqual([false, true]);
    expect(Math.abs(place.middleOffset)).toBeLessThan(0.05);
  });

  it('and a slip between the pilots is seen', async () => {
    const whole = await captureThrough({}, programme).read(0, 1e9);
    const cut = whole.planes.map((plane) => {
      const shorter = new Int32Array(plane.length - 7);
      shorter.set(plane.subarray(0, 1_000_000));
      shorter.set(plane.subarray(1_000_007), 1_000_000);
      return shorter;
    });
    const place = await locateProgramme(memorySource(cut, { name: 'cut.wav', rate: rate(48_000), bits: 24 }));
    expect(Math.abs(place.middleOffset)).toBeGreaterThan(1);
  });
});

describe('bad input is refused with what was found', () => {
  const noise = () => {
    const random = new Random(5);
    return Int32Array.from({ length: 200_000 }, () => Math.round(1e6 * random.gaussian()));
  };
  const cut = async (from: number, to: number) => (await captureThrough({}, programme).read(from, to - from)).planes[0];
  it.each([
    ['silence', async () => new Int32Array(200_000), 'digital silence'],
    ['noise', async () => noise(), 'no pilot'],
    ['a second', async () => new Int32Array(40_000), 'frames'],
    ['the first minute', () => cut(0, 3_600_000), 'start and middle'],
  ])('%s', async (_, make, found) => {
    const source = memorySource([await make()], { name: 'bad.wav', rate: rate(48_000), bits: 24 });
    await expect(locateProgramme(source)).rejects.toMatchObject({
      kind: 'input',
      detail: { path: 'bad.wav', found: expect.stringContaining(found) },
    });
  });
});
