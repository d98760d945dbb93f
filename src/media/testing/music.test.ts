// The recordings exist, and decode to what their list says.
import { describe, expect, test } from 'vitest';
import { loadMusic, needMusic, REAL_MUSIC } from './music.ts';

describe('real recordings', () => {
  for (const recording of REAL_MUSIC) {
    test(`${recording.name} is what the list says`, async (context) => {
      const path = await needMusic(context, recording.name);
      const { planes, bits, rateHz } = await loadMusic(path);
      expect({ rateHz, bits, channels: planes.length }).toEqual({
        rateHz: recording.rateHz,
        bits: recording.bits,
        channels: recording.channels,
      });
      expect(planes[0].length).toBeGreaterThan(rateHz);
      const limit = 2 ** (bits - 1);
      expect(planes[0].every((sample) => sample >= -limit && sample < limit)).toBe(true);
      // Half the quantiser steps unused would mean padding: these are recordings of full word length.
      expect(planes[0].some((sample) => sample & 1)).toBe(true);
    });
  }

  test('channels are repeated and rates converted on request', async (context) => {
    const { planes, rateHz } = await loadMusic(await needMusic(context, 'fox'), { rateHz: 48_000, channels: 3 });
    expect(rateHz).toBe(48_000);
    expect(planes).toHaveLength(3);
    expect(planes[2]).toEqual(planes[0]);
    // 2.756667 s of speech by ffprobe; the resampler may add or drop a frame
    expect(Math.abs(planes[0].length - 132_320)).toBeLessThanOrEqual(2);
  });
});
