// Four channels: an original pair and its dub, later by a known fraction of a frame and of opposite polarity. Truth: the test's own delay.
import { expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { locateProgramme } from '../locate/placement.ts';
import { captureThrough, programmeWaves } from '../testing/captures.ts';
import { fractionalShift } from '../testing/shift.ts';
import { channelDelays, clockReading } from './clock-reading.ts';
import { readStretch } from './stretch.ts';

const DELAY = 12_345.62;

it('a dubbed pair is later by its delay, and its sections are read where they are', async () => {
  const programme = programmeWaves(32_000, 16);
  const original = captureThrough({ lead: 500 }, programme);
  const { planes } = await original.read(0, 1e9);
  const dubbed = planes.map((plane) => {
    const late = fractionalShift(Float64Array.from(plane), DELAY);
    return Int32Array.from(late, (x) => -Math.round(0.4 * x));
  });
  const source = memorySource([...planes, ...dubbed], { name: 'pair.wav', rate: rate(32_000), bits: 24 });
  const place = await locateProgramme(source);
  const delays = channelDelays(place, place.reference, [0, 1, 2, 3]);
  const truth = [0, DELAY, DELAY];
  for (const [k, { delayFrames, isInverted }] of delays.entries()) {
    expect(Math.abs((delayFrames.value ?? 0) - truth[k])).toBeLessThan(delayFrames.uncertainty ?? 0);
    expect(isInverted).toBe(k > 0);
  }
  const ladder = place.plan.sections.find((section) => section.id === 'ladder -10 dBFS');
  if (!ladder) throw new Error('no such step');
  const stretch = await readStretch(source, place, ladder, 0.06);
  const rms = stretch.planes.map((plane) => Math.sqrt(plane.reduce((sum, x) => sum + x * x, 0) / plane.length));
  const whole = 10 ** (-10 / 20) * Math.SQRT1_2;
  for (const [c, factor] of [1, 1, 0.4, 0.4].entries()) expect(rms[c] / (factor * whole)).toBeCloseTo(1, 2);
  const clock = clockReading(source.info, place, place.channels[0]);
  expect(Math.abs(clock.errorPpm.value ?? 9)).toBeLessThan(clock.errorPpm.uncertainty ?? 0);
}, 240_000);
