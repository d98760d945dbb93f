// The kernels against their plain twins, bit for bit: on random planes of every width, on edges, on real music.
import { describe, expect, it } from 'vitest';
import { rate } from '../../base/index.ts';
import { loadMusic, needMusic } from '../../media/testing/music.ts';
import {
  addWeightedEnergy,
  kWeighting,
  takeWeightedEnergy,
  WEIGHTING_STATE,
  weightingLoop,
} from '../loudness-filter.ts';
import { Random } from '../random.ts';
import { truePeakFilter } from '../true-peak-filter.ts';
import { anchorPlaces, plainAnchorPlaces } from './anchor-places.ts';
import { BREAK_CELL, BREAK_CONTEXT, findBreaks, newBreakCounts, plainBreaks } from './breaks.ts';
import { highestPlace, PLACE_CELL, plainHighestPlace } from './highest-place.ts';
import { pack24, unpack24 } from './interleave.ts';
import {
  plainFacts,
  plainFirstDifference,
  plainFirstDifferenceSums,
  plainHoldHits,
  plainMeanHits,
  plainSecondDifferenceSums,
  plainStatistics,
  plainZeroRuns,
} from './plain.ts';
import { lowestBits, planeStatistics } from './plane-statistics.ts';
import { firstDifference, holdCells, meanCells, sumBetween, zeroRuns } from './scans.ts';
import { joinSharedPlanes, makeSharedPlanes } from './shared-planes.ts';
import { weightedEnergies } from './weighted-energy.ts';
import { windowFacts } from './window-facts.ts';
import { newWindowTable, plainWindowMatches, windowMatches } from './window-matches.ts';

type Runs = [start: number, end: number][];

/** Every kernel on one plane; `isNarrow`: samples of at most 24 bits, as the kernels of differences need them. */
function expectEqualTwins(plane: Int32Array, isNarrow: boolean): void {
  const statistics = plainStatistics(plane);
  expect(planeStatistics(plane)).toEqual(statistics);
  const { samples, zeros, trailingZeros } = statistics;
  expect(lowestBits(plane)).toEqual({ samples, zeros, trailingZeros });
  for (const shortest of [1, 4]) {
    const [quick, plain]: [Runs, Runs] = [[], []];
    zeroRuns(plane, shortest, (start, end) => quick.push([start, end]));
    plainZeroRuns(plane, shortest, (start, end) => plain.push([start, end]));
    expect(quick).toEqual(plain);
  }
  const [quickLow, plainLow] = [new Float64Array(32), new Float64Array(32)];
  expect(windowFacts(plane, quickLow)).toEqual(plainFacts(plane, plainLow));
  expect(quickLow).toEqual(plainLow);
  const middle = plane.length >> 1;
  expect(sumBetween(plane, 0, middle) + sumBetween(plane, middle, plane.length)).toBe(plainStatistics(plane).sum);
  for (const cellFrames of isNarrow ? [8, 64, 256] : []) {
    const cells = Math.floor((plane.length - 2) / cellFrames);
    if (cells < 1) continue;
    const frames = cells * cellFrames;
    const [sums, plainSums] = [new Float64Array(cells), new Float64Array(cells)];
    const hitsOf = (scan: (hits: Int32Array) => number) => {
      const hits = new Int32Array(plane.length);
      return hits.subarray(0, scan(hits));
    };
    for (const most of [1, 16, 256]) {
      const hits = hitsOf((hits) => meanCells(plane, cells, cellFrames, most, sums, hits));
      expect(hits).toEqual(hitsOf((hits) => plainMeanHits(plane, frames, most, hits)));
    }
    plainSecondDifferenceSums(plane, cells, cellFrames, plainSums);
    expect(sums).toEqual(plainSums);
    const hits = hitsOf((hits) => holdCells(plane, cells, cellFrames, sums, hits));
    expect(hits).toEqual(hitsOf((hits) => plainHoldHits(plane, frames, hits)));
    plainFirstDifferenceSums(plane, cells, cellFrames, plainSums);
    expect(sums).toEqual(plainSums);
  }
}

function noise(frames: number, bits: number, seed: number): Int32Array {
  const random = new Random(seed);
  return Int32Array.from({ length: frames }, () => (random.uint32() | 0) >> (32 - bits));
}

describe('kernels equal their plain twins', () => {
  it.each([1, 2, 8, 16, 20, 24, 32])('on noise of %i bits', (bits) => {
    for (const frames of [1, 3, 255, 256, 257, 1000, 4099, 65_536, 65_538, 131_079]) {
      expectEqualTwins(noise(frames, bits, frames + bits), bits <= 24);
    }
  });

  it('on left-justified words, which leave low bits unused', () => {
    for (const shift of [1, 4, 8]) {
      expectEqualTwins(
        noise(5000, 24 - shift, shift).map((x) => x << shift),
        true,
      );
    }
  });

  it('on nothing at all', () => {
    expectEqualTwins(new Int32Array(0), true);
  });

  it.each([
    0,
    1,
    -1,
    7,
    8,
    -8,
    2 ** 23 - 1,
    -(2 ** 23),
    2 ** 24 - 1,
    2 ** 25 - 1,
    2 ** 31 - 1,
    -(2 ** 31),
    -(2 ** 31) + 1,
    0x1fff_ffff,
  ])('on a constant %i', (value) => {
    const isNarrow = value >= -(2 ** 23) && value < 2 ** 23;
    for (const frames of [300, 65_536]) expectEqualTwins(new Int32Array(frames).fill(value), isNarrow);
  });

  it('on full-scale alternation, the largest differences there are', () => {
    expectEqualTwins(
      Int32Array.from({ length: 70_000 }, (_, i) => (i % 2 ? 2 ** 23 - 1 : -(2 ** 23))),
      true,
    );
    expectEqualTwins(
      Int32Array.from({ length: 70_000 }, (_, i) => (i % 2 ? 2 ** 31 - 1 : -(2 ** 31))),
      false,
    );
  });

  it('on sparse zeros and long silences', () => {
    const random = new Random(3);
    const plane = noise(60_000, 16, 4);
    for (let k = 0; k < 300; k++) {
      const start = random.integer(plane.length);
      plane.fill(0, start, start + random.integer(40));
    }
    plane.fill(0, 59_990);
    plane.fill(0, 0, 5);
    expectEqualTwins(plane, true);
  });

  it('on real music', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    for (const plane of planes) expectEqualTwins(plane.subarray(0, 1_000_003), true);
  });
});

describe('on planes in the memory of the kernels', () => {
  const shape = { threads: 2, slots: 2, channels: 2, frames: 70_000, room: 1000 };

  it.each([0, 1])('kernels of thread %i equal their plain twins and change no sample', (thread) => {
    const { slots } = joinSharedPlanes(makeSharedPlanes(shape), thread);
    const planes = slots.flat();
    const samples = planes.map((_, k) => noise(shape.frames, 24, k));
    for (const [k, plane] of planes.entries()) plane.set(samples[k]);
    for (const plane of planes) {
      expectEqualTwins(plane.subarray(3, 66_000), true);
      const frames = 4 * BREAK_CELL;
      const [counts, plainCounts] = [newBreakCounts(), newBreakCounts()];
      const found = findBreaks(noise(BREAK_CONTEXT, 24, 9), plane, BREAK_CONTEXT, 4, 1, counts);
      const joined = Int32Array.of(...noise(BREAK_CONTEXT, 24, 9), ...plane.subarray(0, frames + BREAK_CONTEXT));
      expect(found).toEqual(plainBreaks(joined, BREAK_CONTEXT, frames, 1, plainCounts));
      expect(counts).toEqual(plainCounts);
      const filter = truePeakFilter(8);
      const some = plane.subarray(0, 60 * PLACE_CELL);
      expect(highestPlace(new Int32Array(0), some, 0, filter)).toEqual(
        plainHighestPlace(new Int32Array(0), some, 0, filter),
      );
    }
    expect(planes.map((plane) => Int32Array.from(plane))).toEqual(samples);
  });

  it('loudness of four planes and more is that of planes elsewhere', () => {
    const { coefficients } = weightingLoop(kWeighting(rate(48_000)));
    const { slots } = joinSharedPlanes(makeSharedPlanes({ ...shape, channels: 6 }), 0);
    const elsewhere = slots[1].map((plane, c) => {
      plane.set(noise(shape.frames, 24, c));
      return Int32Array.from(plane);
    });
    const [states, others] = [slots[1], elsewhere].map((planes) => planes.map(() => new Float64Array(WEIGHTING_STATE)));
    for (const [planes, other] of [
      [slots[1], elsewhere],
      [slots[1].map((plane) => plane.subarray(5, 50_000)), elsewhere.map((plane) => plane.subarray(5, 50_000))],
      [[...slots[1]].reverse(), [...elsewhere].reverse()],
    ]) {
      const frames = planes[0].length;
      const ends = [1, 480, 16_384, 16_385, 30_000, frames];
      const energies = weightedEnergies(planes, frames, 24, ends, coefficients, states);
      expect(energies).toEqual(weightedEnergies(other, frames, 24, ends, coefficients, others));
      expect(states).toEqual(others);
    }
    expect(slots[1].map((plane) => Int32Array.from(plane))).toEqual(elsewhere);
  });

  it('are the same samples wherever they are joined', () => {
    const shared = makeSharedPlanes(shape);
    const [here, there] = [joinSharedPlanes(shared, 0).slots, joinSharedPlanes(shared, 1).slots];
    here[1][0][5] = 77;
    expect(there[1][0][5]).toBe(77);
    expect(new Set(here.flat().map(({ byteOffset }) => byteOffset)).size).toBe(4);
  });
});

describe('samples of 24 bits to planes and back', () => {
  // The meaning: three bytes, the lowest first, channel after channel (WAVE, format PCM).
  const byte = (planes: readonly Int32Array[], at: number) => {
    const sample = Math.floor(at / 3);
    return (planes[sample % planes.length][Math.floor(sample / planes.length)] >> (8 * (at % 3))) & 255;
  };

  it.each([4, 8, 12, 64])('%i channels, in place and not', (channels) => {
    const frames = 1003;
    const whole = frames - (frames % 4);
    const expected = Array.from({ length: channels }, (_, c) => noise(frames, 24, c));
    const bytes = Uint8Array.from({ length: 3 * channels * frames }, (_, at) => byte(expected, at));
    const packed = new Uint8Array(2 + bytes.length);
    expect(pack24(expected, 0, frames, packed, 2)).toBe(whole);
    expect(packed.subarray(2, 2 + 3 * channels * whole)).toEqual(bytes.subarray(0, 3 * channels * whole));
    const shape = { threads: 1, slots: 1, channels, frames: frames + 7, room: bytes.length + 1 };
    const { slots, room } = joinSharedPlanes(makeSharedPlanes(shape), 0);
    room.set(bytes, 1);
    for (const [planes, from, at] of [
      [expected.map(() => new Int32Array(frames + 7)), bytes, 0],
      [slots[0], bytes, 0],
      [slots[0], room, 1],
    ] as const) {
      for (const plane of planes) plane.fill(5);
      expect(unpack24(from, at, frames, planes, 7)).toBe(whole);
      for (const [c, plane] of planes.entries()) {
        expect(Int32Array.from(plane.subarray(7, 7 + whole))).toEqual(expected[c].subarray(0, whole));
        expect(new Set([...plane.subarray(0, 7), ...plane.subarray(7 + whole)])).toEqual(new Set([5]));
      }
    }
    const again = new Uint8Array(bytes.length);
    expect(pack24(slots[0], 7, whole, again, 0)).toBe(whole);
    expect(again.subarray(0, 3 * channels * whole)).toEqual(bytes.subarray(0, 3 * channels * whole));
  });
});

describe('places of anchors', () => {
  it.each([
    [0, 24],
    [3, 16],
    [5, 24],
    [12, 24],
    [5, 32],
  ])('of level %i are the same for kernel and twin, noise of %i bits', (level, bits) => {
    const x = noise(50_003, bits, level);
    const [rolling, plainRolling] = [new Int32Array(1), new Int32Array(1)];
    for (const [from, to] of [
      [0, 20_000],
      [20_000, 20_300],
      [20_300, 50_003],
    ]) {
      const [places, plain]: [number[][], number[][]] = [[], []];
      anchorPlaces(x.subarray(from, to), 32 - bits, level, rolling, (...place) => places.push(place));
      plainAnchorPlaces(x.subarray(from, to), 32 - bits, level, plainRolling, (...place) => plain.push(place));
      expect(places).toEqual(plain);
      if (level < 6) expect(places.length).toBeGreaterThan(0);
      expect(rolling).toEqual(plainRolling);
    }
  });
});

describe('the first difference', () => {
  it('is found wherever it lies', () => {
    const a = noise(100_000, 24, 9);
    for (const at of [0, 1, 5, 63, 64, 65, 1087, 1088, 20_000, 65_535, 65_600, 99_999]) {
      const b = a.slice();
      b[at] ^= 1;
      for (const from of [0, 3, 60]) {
        expect(firstDifference(a, b, from, a.length)).toBe(plainFirstDifference(a, b, from, a.length));
      }
    }
    expect(firstDifference(a, a, 7, 99_990)).toBe(99_990);
    expect(firstDifference(a, a, 7, 7)).toBe(7);
  });
});

describe('the weighting of loudness', () => {
  const { coefficients } = weightingLoop(kWeighting(rate(48_000)));

  it.each([
    [1, 24],
    [2, 16],
    [3, 24],
    [4, 29],
    [5, 24],
    [8, 24],
    [9, 24],
    [2, 32],
  ])('gives %i channels of %i bits together what each gives alone', (channels, bits) => {
    const planes = Array.from({ length: channels }, (_, c) => noise(40_000, bits - c, c));
    // Silence long enough for the states to become nothing.
    for (const plane of planes) plane.fill(0, 20_000, 36_000);
    const alone = planes.map(() => new Float64Array(WEIGHTING_STATE));
    const together = planes.map(() => new Float64Array(WEIGHTING_STATE));
    for (const [from, to, ends] of [
      [0, 480, [480]],
      [480, 481, []],
      [481, 482, [1]],
      [482, 25_000, [1, 2, 5, 441, 882, 16_384, 16_385, 24_000, 24_518]],
      [25_000, 40_000, [7, 11_000]],
    ] as const) {
      const parts = planes.map((plane) => plane.subarray(from, to));
      const energies = weightedEnergies(parts, to - from, bits, ends, coefficients, together);
      const expected = parts.map((plane, c) => {
        let at = 0;
        const taken = ends.map((end) => {
          addWeightedEnergy(plane, at, end, coefficients, alone[c]);
          at = end;
          return takeWeightedEnergy(alone[c]);
        });
        addWeightedEnergy(plane, at, plane.length, coefficients, alone[c]);
        return taken;
      });
      for (const [c, own] of expected.entries()) {
        expect(own).toEqual(own.map((_, k) => energies[k * channels + c]));
      }
      expect(together).toEqual(alone);
    }
  });
});

describe('windows that stood before', () => {
  const distances = { shortest: 16, longest: 8192 };
  const BEFORE = 8200;

  it.each([
    ['noise of 3 bits, where they often did', noise(60_000, 3, 1)],
    ['noise of 24 bits with copied stretches', withCopies(noise(60_000, 24, 2))],
    ['silence', new Int32Array(60_000)],
    ['noise of 32 bits', noise(60_000, 32, 3)],
  ])('are the same for kernel and twin: %s', (_, samples) => {
    const [table, plainTable] = [newWindowTable(), newWindowTable()];
    let at = BEFORE;
    for (const length of [4096, 5, 8191, 4098, 1, 30_000, 3, 2]) {
      const given = samples.subarray(at - BEFORE, at + length);
      const found = windowMatches(given, BEFORE, at, table, distances);
      expect(found).toEqual(plainWindowMatches(given, BEFORE, at, plainTable, distances));
      expect(table).toEqual(plainTable);
      at += length;
    }
  });

  it.each([8, 9, 12, 100])('are found at a copy of %i samples, with their distance, wherever it begins', (length) => {
    // From farther off another window may have taken the place of the only one remembered.
    for (const distance of [16, 1000, 4000]) {
      for (let shift = 0; shift < 4; shift++) {
        const samples = noise(20_000, 24, length + distance);
        const at = 18_000 + shift;
        samples.copyWithin(at, at - distance, at - distance + length);
        const found = windowMatches(samples, BEFORE, BEFORE, newWindowTable(), distances);
        expect(found[1]).toBe(distance);
        expect(found[0] + BEFORE).toBeGreaterThanOrEqual(at + 4);
        expect(found[0] + BEFORE).toBeLessThan(at + 8);
      }
    }
  });

  it('are no matches when fewer samples are equal', () => {
    const samples = noise(20_000, 24, 5);
    for (let at = 9000; at < 20_000; at += 500) samples.copyWithin(at, at - 300, at - 293);
    expect(windowMatches(samples, BEFORE, BEFORE, newWindowTable(), distances)).toHaveLength(0);
  });
});

function withCopies(samples: Int32Array): Int32Array {
  for (let at = 5000; at < samples.length; at += 9000) samples.copyWithin(at, at - 1000, at - 900);
  return samples;
}

describe('breaks of a waveform', () => {
  const expectSame = (x: Int32Array, cells: number, leastRatio: number) => {
    const frames = cells * BREAK_CELL;
    const all = x.subarray(0, frames + 2 * BREAK_CONTEXT);
    const plain = newBreakCounts();
    const breaks = plainBreaks(all, BREAK_CONTEXT, frames, leastRatio, plain);
    for (const cut of [0, 40, 1000]) {
      const counts = newBreakCounts();
      const [before, then] = [all.subarray(0, cut), all.subarray(cut)];
      expect(findBreaks(before, then, BREAK_CONTEXT, cells, leastRatio, counts)).toEqual(breaks);
      expect(counts).toEqual(plain);
    }
    return breaks;
  };

  it.each([1, 8, 16, 24, 27, 28, 32])('are the same for kernel and twin, noise of %i bits', (bits) => {
    const x = noise(5000, bits, bits);
    for (const cells of [1, 4]) expect(expectSame(x, cells, 0.1).length).toBeGreaterThan(0);
  });

  it('are the same in sound that is now loud, now silent, on words that leave low bits unused', () => {
    const x = noise(12_000, 20, 5).map((value, i) => (value >> ((i >> 8) % 24)) << 3);
    expect(expectSame(x, 11, 1).length).toBeGreaterThan(0);
  });

  it('are found where one sample was raised', () => {
    const x = noise(5000, 8, 3);
    x[2000] += 10_000;
    expect(expectSame(x, 4, 8)).toMatchObject([{ index: 2000 - BREAK_CONTEXT }]);
  });

  it('are found where one sample rises out of silence, whatever its lowest bit', () => {
    const x = new Int32Array(5000);
    for (const [at, height] of [
      [1000, 4096],
      [3000, -25],
    ]) {
      x[at] = height;
    }
    expect(expectSame(x, 4, 8)).toEqual([
      { index: 1000 - BREAK_CONTEXT, ratio: (6 * 4096) / 16 },
      { index: 3000 - BREAK_CONTEXT, ratio: (6 * 25) / 16 },
    ]);
  });

  it('are the same on real music', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    expect(expectSame(planes[0].subarray(100_000), 60, 1).length).toBeGreaterThan(0);
  });
});

describe('the highest place between samples', () => {
  const none = new Int32Array(0);

  it.each([1, 16, 24, 31, 32])('is the same for kernel and twin, noise of %i bits', (bits) => {
    const x = noise(70 * PLACE_CELL, bits, bits).map((value, i) => value >> ((i >> 6) % bits));
    for (const filter of [truePeakFilter(4), truePeakFilter(8)]) {
      for (const cut of [0, 5, 64, 500]) {
        const [before, then] = [x.subarray(0, cut), x.subarray(cut)];
        for (const share of [0, 0.2, 0.5, 0.9, 2]) {
          const peak = share * 2 ** (bits - 1);
          expect(highestPlace(before, then, peak, filter)).toEqual(plainHighestPlace(before, then, peak, filter));
        }
      }
    }
  });

  it('is the same on the largest differences there are', () => {
    const x = Int32Array.from({ length: 4 * PLACE_CELL }, (_, i) => (i % 2 ? 2 ** 31 - 1 : -(2 ** 31)));
    const filter = truePeakFilter(8);
    expect(highestPlace(none, x, 0, filter)).toEqual(plainHighestPlace(none, x, 0, filter));
    expect(highestPlace(none, x, 0, filter).samplePeak).toBe(2 ** 31);
  });

  it('is the same on real music', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    const x = planes[0].subarray(100_000, 100_000 + 1000 * PLACE_CELL);
    const filter = truePeakFilter(8);
    const highest = highestPlace(none, x, 0, filter);
    expect(highest).toEqual(plainHighestPlace(none, x, 0, filter));
    expect(highestPlace(none, x, highest.peak, filter)).toEqual({ ...highest, index: undefined });
  });
});
