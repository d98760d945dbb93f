// Parts from a list abut and cover the master whatever the list says, or the list is refused with the reason.
import { describe, expect, it } from 'vitest';
import { Random } from '../signal/index.ts';
import { type CutLine, type CutList, cutSets } from './cut-list.ts';

const SHAPE = { path: 'master.wav', channels: 4, frames: 100_000 };

function listOf(lines: readonly (Partial<CutLine> & { start: number })[]): CutList {
  const base = { master: 0, channels: [], isCut: true, title: '', sureness: 'given', why: '' } as const;
  return {
    tape: 'HB-1',
    masters: [{ path: 'master.wav', audioSha256: null }],
    lines: lines.map((line) => ({ ...base, ...line })),
  };
}

describe('parts of a cut list', () => {
  it('abut from the first frame to the last for any starts, in any order', () => {
    const random = new Random(1);
    for (let turn = 0; turn < 200; turn++) {
      const starts = new Set([0, ...Array.from({ length: random.integer(9) }, () => 1 + random.integer(99_999))]);
      const lines = [...starts].sort(() => random.uniform() - 0.5).map((start) => ({ start }));
      const [{ parts, channels }] = cutSets(listOf(lines), 0, SHAPE);
      expect(channels).toEqual([1, 2, 3, 4]);
      let at = 0;
      for (const { start, length } of parts) {
        expect(start).toBe(at);
        expect(length).toBeGreaterThan(0);
        at += length;
      }
      expect(at).toBe(SHAPE.frames);
    }
  });

  it('of groups of channels are cut apart; lines that do not cut are marks', () => {
    const list = listOf([
      { start: 0, channels: [1, 2] },
      { start: 500, channels: [2, 1] },
      { start: 700, channels: [1, 2], isCut: false, title: 'breath' },
      { start: 0, channels: [3, 4] },
    ]);
    const sets = cutSets(list, 0, SHAPE);
    expect(sets.map(({ channels, parts }) => [channels, parts.map(({ start }) => start)])).toEqual([
      [
        [1, 2],
        [0, 500],
      ],
      [[3, 4], [0]],
    ]);
    expect(sets[0].parts[1].marks).toEqual([{ frame: 700, title: 'breath', why: '' }]);
  });

  it.each([
    ['nothing begins at frame 0', [{ start: 5 }]],
    ['nothing begins at frame 0', [{ start: 0, isCut: false }]],
    ['begin at the same frame', [{ start: 0 }, { start: 9 }, { start: 9 }]],
    ['begins behind the end', [{ start: 0 }, { start: 100_000 }]],
    ['names a channel that the master has not', [{ start: 0, channels: [1, 2, 3, 4, 5] }]],
    ['channel 4 is in no programme', [{ start: 0, channels: [1, 2, 3] }]],
    [
      'channel 2 is in several groups',
      [
        { start: 0, channels: [1, 2] },
        { start: 0, channels: [2, 3, 4] },
      ],
    ],
    ['channel 1 is in no programme', []],
  ])('are refused where %s', (message, lines) => {
    expect(() => cutSets(listOf(lines), 0, SHAPE)).toThrow(message);
  });
});
