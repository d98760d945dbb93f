// A sample of the grid of `score/identify.ts`: simulated formats through digital and noisy analogue ways. The truth is the device of the test. An answer
// must be the truth; "cannot tell" must leave the truth among what remains.
import { describe, expect, it } from 'vitest';
import { Random } from '../../signal/index.ts';
import { findLaw } from '../../tape/index.ts';
import { measureCapture } from '../analyse/measure-capture.ts';
import { captureThrough, type Device, programmeWaves } from '../testing/captures.ts';
import { type IdentifyOptions, identify } from './identify.ts';

const stereo = programmeWaves();
const programme = { hz: stereo.hz, planes: [stereo.planes[0]] };

async function identityOf(device: Device, options: IdentifyOptions = {}) {
  const source = captureThrough(device, programme);
  return identify(source, await measureCapture(source), options);
}

describe('what is it really', () => {
  it.each<[string, Device, string, string]>([
    [
      '8-bit companded through a noisy analogue output',
      {
        law: findLaw('eight-mm'),
        tapeHz: 4_500_000 / 143,
        captureHz: 48_000,
        outputNoiseDb: -75,
        inputNoiseDb: -80,
        ppm: 30,
      },
      'eight-mm-16-64-320',
      '4500000/143',
    ],
    [
      '10-bit linear through a noisy analogue output',
      { word: 10, tapeHz: 32_000, captureHz: 48_000, outputNoiseDb: -75, inputNoiseDb: -80 },
      'linear-10',
      '32000',
    ],
    [
      '14 bits behind noise stronger than theirs',
      { word: 14, tapeHz: 6_300_000 / 143, recordDb: -1.5, captureHz: 48_000, outputNoiseDb: -85, inputNoiseDb: -90 },
      'linear-14',
      '6300000/143',
    ],
    [
      '12-bit nonlinear behind noise near that of its largest steps',
      { law: findLaw('nonlinear-12'), tapeHz: 32_000, captureHz: 48_000, outputNoiseDb: -75, inputNoiseDb: -85 },
      'nonlinear-12',
      '32000',
    ],
    [
      '8 bits recorded softly, their steps coarser than any other',
      { word: 8, tapeHz: 32_000, recordDb: -1.4, captureHz: 44_100, outputNoiseDb: -85, inputNoiseDb: -90 },
      'linear-8',
      '32000',
    ],
    ['8 bits behind a noisy converter, digital', { word: 8, inputNoiseDb: -75 }, 'linear-8', '48000'],
    ['12 bits behind a noisy converter, digital', { word: 12, inputNoiseDb: -75 }, 'linear-12', '48000'],
    ['12-bit nonlinear, digital', { law: findLaw('nonlinear-12') }, 'nonlinear-12', '48000'],
  ])(
    '%s',
    async (_, device, word, rate) => {
      const identity = await identityOf(device);
      expect([identity.word.answer, identity.rate.answer]).toEqual([word, rate]);
      expect(device.captureHz ? ['analogue', 'unknown'] : ['digital']).toContain(identity.path);
    },
    240_000,
  );

  it('16 bits behind noise of -75 dBFS: cannot be told, and 16 remains', async () => {
    const device = { word: 16, tapeHz: 44_100, captureHz: 48_000, outputNoiseDb: -75, inputNoiseDb: -80 };
    const { word, rate, formats } = await identityOf(device);
    expect(word.answer).toBeNull();
    expect(word.remaining.map((one) => one.id)).toContain('linear-16');
    expect(word.remaining.map((one) => one.id)).not.toContain('eight-mm-16-64-320');
    expect(rate.answer ?? '44100').toBe('44100');
    expect(formats.map((one) => one.id)).toContain('dat-44k1');
  }, 240_000);

  it.each<[string, Device]>([
    ['steps of 11 bits, which no sheet has', { word: 11, captureHz: 44_100, outputNoiseDb: -71 }],
    ['the steps of a 16-bit recorder', { captureHz: 44_100, captureBits: 16, outputNoiseDb: -110 }],
    ['noise in proportion to the level', { captureHz: 48_000, outputNoiseDb: -90, change: withLevelNoise }],
  ])(
    'takes %s for no word of a device',
    async (_, device) => {
      const { word, rate } = await identityOf(device);
      expect(word.answer).toBeNull();
      // what is not sampled has no rate; 11 bits are sampled as the programme is
      expect(rate.answer).toBe(device.word ? '48000' : null);
    },
    240_000,
  );

  it('a noisy converter of a common word: only who knows the path can tell', async () => {
    const device = { word: 16, tapeHz: 44_100, inputNoiseDb: -75 };
    const alone = await identityOf(device);
    expect([alone.word.answer, alone.rate.answer]).toEqual([null, null]);
    const told = await identityOf(device, { path: 'digital' });
    expect([told.word.answer, told.rate.answer]).toEqual(['linear-16', '44100']);
  }, 240_000);
});

function withLevelNoise(planes: readonly Float64Array[]): void {
  const random = new Random(4);
  for (const plane of planes) plane.set(plane.map((x) => x * (1 + 0.001 * random.gaussian())));
}
