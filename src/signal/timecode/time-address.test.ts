// Addresses against a count by hand through a whole day, and the figures of SMPTE 12M.
import { describe, expect, it } from 'vitest';
import {
  addressOf,
  formatAddress,
  frameNumber,
  framesPerDay,
  isAddress,
  type Numbering,
  parseAddress,
} from './time-address.ts';

const NUMBERINGS: readonly Numbering[] = [
  { count: 24, isDrop: false },
  { count: 25, isDrop: false },
  { count: 30, isDrop: false },
  { count: 30, isDrop: true },
];

describe('frame numbers', () => {
  it.each(NUMBERINGS)('of %j count every address of a day once, in order', (numbering) => {
    let number = 0;
    let wrong = 0;
    for (let second = 0; second < 86_400; second++) {
      for (let frames = 0; frames < numbering.count; frames++) {
        const minutes = Math.floor(second / 60) % 60;
        // The rule as the standard words it, not as the code computes it.
        if (numbering.isDrop && second % 60 === 0 && frames < 2 && minutes % 10 !== 0) continue;
        const address = { hours: Math.floor(second / 3600), minutes, seconds: second % 60, frames };
        const back = addressOf(number, numbering);
        if (frameNumber(address, numbering) !== number || back.frames !== frames || back.minutes !== minutes) wrong++;
        if (!isAddress(address, numbering) || back.seconds !== second % 60 || back.hours !== address.hours) wrong++;
        number++;
      }
    }
    expect(wrong).toBe(0);
    expect(number).toBe(framesPerDay(numbering));
  });

  it('with drop are 107 892 an hour', () => {
    const drop = { count: 30, isDrop: true } as const;
    expect(frameNumber({ hours: 1, minutes: 0, seconds: 0, frames: 0 }, drop)).toBe(107_892);
    expect(isAddress({ hours: 0, minutes: 1, seconds: 0, frames: 0 }, drop)).toBe(false);
    expect(isAddress({ hours: 0, minutes: 10, seconds: 0, frames: 0 }, drop)).toBe(true);
    expect(formatAddress(addressOf(1800, drop), true)).toBe('00:01:00;02');
    expect(formatAddress(addressOf(-1, drop), true)).toBe('23:59:59;29');
  });

  it('are read from text, and what is no address is refused', () => {
    expect(parseAddress('01:23:45;13')).toEqual({
      address: { hours: 1, minutes: 23, seconds: 45, frames: 13 },
      isDrop: true,
    });
    for (const text of ['1:2:3:4', '24:00:00:00', '00:60:00:00', '00:00:00:30', '00:00:00', '']) {
      expect(parseAddress(text), text).toBeUndefined();
    }
  });
});
