// A sample of the grid of `score/identify.ts`: simulated formats through digital and noisy analogue ways. The truth is the device of the test. An answer
// must be the truth; "cannot tell" must leave the truth among what remains.
import { describe, expect, it } from 'vitest';
import { findLaw } from '../../tape/index.ts';
import { measureCapture } from '../analyse/measure-capture.ts';
import { captureThrough, type Device, programmeWaves } from '../testing/captures.ts';
import { identify } from './identify.ts';

const stereo = programmeWaves();
const programme = { hz: stereo.hz, planes: [stereo.planes[0]] };

async function identityOf(device: Device) {
  const source = captureThrough(device, programme);
  return identify(source, await measureCapture(source));
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
    ['12 bits behind a noisy converter, digital', { word: 12, inputNoiseDb: -75 }, 'linear-12', '48000'],
    ['12-bit nonlinear, digital', { law: findLaw('nonlinear-12') }, 'nonlinear-12', '48000'],
  ])(
    '%s',
    async (_, device, word, rate) => {
      const identity = await identityOf(device);
      expect([identity.word.answer, identity.rate.answer]).toEqual([word, rate]);
      expect(identity.path).toBe(device.captureHz ? 'analogue' : 'digital');
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
});
