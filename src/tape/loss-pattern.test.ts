// Loss patterns against models written down separately here: DV placement, the adaptor's interleave with its two parities, printed strings.
import { describe, expect, it } from 'vitest';
import {
  dvTrackLoss,
  dvTrackOf,
  findFormat,
  isLost,
  type LossPattern,
  listFormats,
  lossMask,
  lossText,
  lostShare,
} from './index.ts';

function headLoss(id: string, patternId: string): LossPattern {
  const found = findFormat(id).losses.find((pattern) => pattern.id === patternId);
  return found ?? expect.fail(`${id} has no ${patternId}`);
}

/** Inverse of the placement, from the formula for sequence s and block k (formats sheet 4.3), not from dvTrackOf. */
function samplesOfTrack(half: number, s: number): Set<number> {
  const found = new Set<number>();
  for (let k = 0; k < 9; k++) {
    const part = Math.floor(k / 3);
    const first = 3 * ((k % 3) * half + ((((s - 2 * part) % half) + half) % half)) + part;
    for (let j = 0; j < 36; j++) found.add(first + 9 * half * j);
  }
  return found;
}

describe('DV placement', () => {
  it.each([
    ['525', 5],
    ['625', 6],
  ] as const)('%s: the track of a sample and the samples of a track agree', (suffix, half) => {
    for (let s = 0; s < half; s++) {
      const samples = samplesOfTrack(half, s);
      for (let n = 0; n < 324 * half; n++) {
        if (samples.has(n) !== (dvTrackOf(suffix, 1, n) === s)) expect.fail(`sample ${n}, sequence ${s}`);
        expect(isLost(dvTrackLoss(suffix, s, [1], [2]), 1, n)).toBe(samples.has(n));
      }
      expect(lostShare(dvTrackLoss(suffix, s + half, [1], [2]), 2)).toBeCloseTo(1 / half, 12);
    }
  });

  it.each([
    ['dv-525-48k', 'even-track-head', 0, 'xxx..', '...xx'],
    ['dv-525-48k', 'odd-track-head', 0, '...xx', 'xxx..'],
    ['dv-625-48k', 'even-track-head', 0, 'xxx...', 'xxx...'],
    ['dv-625-48k', 'odd-track-head', 0, '...xxx', '...xxx'],
    ['dv-8mm-525-48k', 'scan-0-head', 0, 'x.xx.x.xx.x.xx.', 'x.x.xx.x.xx.x.x'],
    ['dv-8mm-525-48k', 'scan-0-head', 1, '.x..x.x..x.x..x', '.x.x..x.x..x.x.'],
    ['dv-8mm-625-48k', 'scan-0-head', 0, 'x.xx.x.xx.xxxx.xx.', '.x..x.x..x....x..x'],
  ] as const)('%s %s, frame %i, is the printed string', (id, patternId, unit, first, second) => {
    const pattern = headLoss(id, patternId);
    expect(lossText(pattern, 1, unit)).toBe(first);
    expect(lossText(pattern, 2, unit)).toBe(second);
  });

  it('gives the strings from the tracks each head reads', () => {
    const readers = {
      'even-track-head': (track: number) => track % 2 === 0,
      'odd-track-head': (track: number) => track % 2 === 1,
      'scan-0-head': (track: number, frame: number, tracks: number) =>
        (Math.floor(track / 2) + frame * (tracks / 2)) % 2 === 0,
      'scan-1-head': (track: number, frame: number, tracks: number) =>
        (Math.floor(track / 2) + frame * (tracks / 2)) % 2 === 1,
    };
    for (const format of listFormats().filter(
      (one) => one.family.startsWith('dv') && one.signal.channels.value === 2,
    )) {
      const suffix = format.system === '525/60' ? '525' : '625';
      const tracks = suffix === '525' ? 10 : 12;
      for (const pattern of format.losses) {
        const lost = readers[pattern.id as keyof typeof readers];
        for (let frame = 0; frame < 4; frame++) {
          for (let n = 0; n < 90; n++) {
            expect(isLost(pattern, 1, n, frame)).toBe(lost(dvTrackOf(suffix, 1, n), frame, tracks));
            expect(isLost(pattern, 2, n, frame)).toBe(lost(dvTrackOf(suffix, 2, n), frame, tracks));
          }
        }
      }
    }
  });
});

describe('one video head of a PCM adaptor recording', () => {
  /** Lines of every second field lost; word i of block b on line b + 16 i; a block with at most `solvable` lost words is whole again. */
  function lostWords(lines: number, solvable: number, words: number): Set<string> {
    const lost = new Set<string>();
    const firstLostLine = 80;
    const isLineLost = (line: number) => {
      const at = (((line - firstLostLine) % (2 * lines)) + 2 * lines) % (2 * lines);
      return at < lines;
    };
    for (let block = 0; block < 2 * lines; block++) {
      const bad = Array.from({ length: words }, (_, i) => i).filter((i) => isLineLost(block + 16 * i));
      if (bad.length > solvable) for (const i of bad.filter((word) => word < 6)) lost.add(`${block}/${i}`);
    }
    return lost;
  }

  it.each([
    ['pcm-adaptor-525', 245, 2, 8, 1422],
    ['pcm-adaptor-625', 294, 2, 8, 1716],
    ['pcm-adaptor-525-16bit', 245, 1, 7, 1454],
    ['pcm-adaptor-625-16bit', 294, 1, 7, 1748],
  ] as const)('%s loses the windows a simulation loses: %i lines, %i solvable', (id, lines, solvable, words, count) => {
    const pattern = findFormat(id, undefined, id.endsWith('16bit') ? { word: 16 } : { word: 14 }).losses[0];
    const simulated = lostWords(lines, solvable, words);
    expect(simulated.size).toBe(count);
    for (let block = 0; block < 2 * lines; block++) {
      for (let word = 0; word < 6; word++) {
        const sample = 3 * block + Math.floor(word / 2);
        expect(isLost(pattern, 1 + (word % 2), sample), `${id} block ${block} word ${word}`).toBe(
          simulated.has(`${block}/${word}`),
        );
      }
    }
  });
});

describe('other formats', () => {
  it('8 mm loses whole fields, both channels at once', () => {
    const pattern = headLoss('eight-mm-pcm-525', 'alternate-fields');
    expect(lossText(pattern, 1)).toBe('.'.repeat(525) + 'x'.repeat(525));
    expect(lossMask(pattern, 2)).toEqual(lossMask(pattern, 1));
    expect(lostShare(headLoss('eight-mm-six-programmes-625', 'alternate-fields'), 1)).toBe(0.5);
  });

  it('DAT loses every second sample, left and right on opposite parity', () => {
    const pattern = headLoss('dat-48k', 'left-odd');
    expect([0, 1, 2, 3].map((n) => isLost(pattern, 1, n))).toEqual([false, true, false, true]);
    expect([0, 1, 2, 3].map((n) => isLost(pattern, 2, n))).toEqual([true, false, true, false]);
    expect(isLost(pattern, 1, -1)).toBe(true);
  });

  it('marks what is only a hypothesis', () => {
    for (const format of listFormats().filter((one) => one.family.startsWith('eight-track'))) {
      expect(format.losses.every((pattern) => pattern.hypothesis)).toBe(true);
    }
  });
});
