import { describe, expect, it } from 'vitest';
import { dvTrackLoss, findFormat, type TapeFormat } from '../tape/index.ts';
import { countLost, damageOf, type Loss, lostSpans } from './damage.ts';
import { frameLengthsOf, headLosses, unitLosses } from './format-damage.ts';

function pattern(format: TapeFormat, id: string) {
  const found = format.losses.find((loss) => loss.id === id);
  if (!found) throw new Error(`${format.id} has no loss ${id}`);
  return found;
}

/** `x` where lost, over the first frames of a channel. */
function text(losses: readonly Loss[], channel: number, frames: number, from = 0): string {
  const mask = damageOf(2, from + frames, [losses]).masks[channel - 1];
  return Array.from(mask.subarray(from), (lost) => (lost ? 'x' : '.')).join('');
}

describe('DV, the strings of formats.md 4.8', () => {
  const dv = findFormat('dv-525-48k');
  const frameLengths = frameLengthsOf(dv) ?? [];
  it('knows the frames', () => {
    expect(frameLengths).toEqual([1600, 1602, 1602, 1602, 1602]);
  });

  it('narrow tape, head of the even tracks: the phase begins again with every frame', () => {
    const losses = headLosses({
      pattern: pattern(dv, 'even-track-head'),
      channels: [1, 2],
      start: 0,
      length: 9999,
      frameLengths,
    });
    expect(text(losses, 1, 10)).toBe('xxx..xxx..');
    expect(text(losses, 2, 10)).toBe('...xx...xx');
    // frame 2 begins at 1600 + 1602 = 3202, which 5 does not divide
    expect(text(losses, 1, 10, 3202)).toBe('xxx..xxx..');
    const lost = damageOf(2, 8008, [losses]).masks.map(countLost);
    // 60 % and 40 %, whole groups of five and the rest of each frame counted by hand: 1600 = 320 x 5, 1602 = 320 x 5 + 2
    expect(lost).toEqual([960 + 4 * (960 + 2), 640 + 4 * 640]);
  });

  it('8 mm tape: heads swap from frame to frame', () => {
    const eight = findFormat('dv-8mm-525-48k');
    const losses = headLosses({
      ...{ pattern: pattern(eight, 'scan-0-head'), channels: [1, 2], start: 0, length: 9999 },
      frameLengths: frameLengthsOf(eight) ?? [],
    });
    expect(text(losses, 1, 15)).toBe('x.xx.x.xx.x.xx.');
    expect(text(losses, 2, 15)).toBe('x.x.xx.x.xx.x.x');
    expect(text(losses, 1, 15, 1600)).toBe('.x..x.x..x.x..x');
    expect(text(losses, 2, 15, 1600)).toBe('.x.x..x.x..x.x.');
  });

  it('one track takes one sample in five of one audio block in one frame', () => {
    const track = unitLosses({ pattern: dvTrackLoss('525', 0, [1], [2]), channels: [1, 2], frameLengths }, 1);
    const damage = damageOf(2, 8008, [track]);
    // formats.md 4.3, 525 sequence 0: first samples of A0..A8 are 0 15 30 10 25 40 5 20 35, then every 45
    const expected = Array.from({ length: 1602 }, (_, n) => n).filter((n) => n % 5 === 0 && n < 1602);
    expect(Array.from(damage.masks[0].keys()).filter((i) => damage.masks[0][i])).toEqual(expected.map((n) => n + 1600));
    expect(countLost(damage.masks[1])).toBe(0);
    expect(lostSpans(damage)).toMatchObject([{ start: 1600, length: 1601, samples: 321, pattern: 'track-0' }]);
  });
});

describe('DAT', () => {
  it('one head: every second sample, opposite parity left and right', () => {
    const dat = findFormat('dat', undefined, { rate: { num: 48_000, den: 1 } });
    const frameLengths = frameLengthsOf(dat) ?? [];
    expect(frameLengths).toEqual([1440]);
    const losses = headLosses({
      pattern: pattern(dat, 'left-even'),
      channels: [1, 2],
      start: 100,
      length: 50,
      frameLengths,
    });
    expect(text(losses, 1, 6, 100)).toBe('x.x.x.');
    expect(text(losses, 2, 6, 100)).toBe('.x.x.x');
    const track = unitLosses({ pattern: pattern(dat, 'track-left-odd'), channels: [1, 2], frameLengths }, 3);
    const damage = damageOf(2, 10_000, [track]);
    expect(damage.masks.map(countLost)).toEqual([720, 720]); // formats.md 5.6
    expect(lostSpans(damage).map((s) => s.start)).toEqual([3 * 1440 + 1, 3 * 1440]);
  });
});

describe('8 mm PCM', () => {
  it.each([
    ['525/60', 525],
    ['625/50', 625],
  ] as const)('%s: one field is %i samples of both channels', (system, perField) => {
    const format = findFormat('eight-mm-pcm', system);
    const loss = { pattern: pattern(format, 'alternate-fields'), channels: [1, 2] };
    const field = lostSpans(damageOf(2, 5000, [unitLosses(loss, 1)]));
    expect(field.map((s) => [s.channel, s.length, s.samples])).toEqual([
      [1, perField, perField],
      [2, perField, perField],
    ]);
    const head = lostSpans(damageOf(1, 4 * perField, [headLosses({ ...loss, channels: [1], start: 0, length: 5000 })]));
    expect(head.map((s) => [s.start, s.length])).toEqual([
      [perField, perField],
      [3 * perField, perField],
    ]);
  });
});

describe('PCM adaptor', () => {
  // formats.md 6.8: lost samples per period of two fields, both channels
  it.each([
    ['pcm-adaptor-525', 1470, 1422],
    ['pcm-adaptor-625', 1764, 1716],
    ['pcm-adaptor-525-16bit', 1470, 1454],
    ['pcm-adaptor-625-16bit', 1764, 1748],
  ])('%s: of 2 x %i samples %i are lost', (id, period, lost) => {
    const loss = { pattern: pattern(findFormat(id), 'alternate-fields-interleaved'), channels: [1, 2] };
    const damage = damageOf(2, 6 * period, [unitLosses({ ...loss, origin: 77 }, 2)]);
    expect(countLost(damage.masks[0]) + countLost(damage.masks[1])).toBe(lost);
    const twice = damageOf(2, 6 * period, [headLosses({ ...loss, start: 0, length: 2 * period })]);
    expect(countLost(twice.masks[0]) + countLost(twice.masks[1])).toBe(2 * lost);
    // L runs from block F to F+NL-32 in its word 0 and 80 blocks earlier in its word 2: one span per channel and field
    expect(lostSpans(damage)).toHaveLength(2);
  });
});

it('asks for frame lengths where the pattern needs them', () => {
  const dv = findFormat('dv-525-48k');
  const loss = { pattern: pattern(dv, 'even-track-head'), channels: [1, 2], start: 0, length: 10 };
  expect(() => headLosses(loss)).toThrow('frame lengths');
  expect(frameLengthsOf(findFormat('eight-mm-pcm', '525/60'))).toBeUndefined();
});
