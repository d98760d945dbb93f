// DV streams read like any capture: what ffmpeg wrote is read as ffmpeg reads it, what we wrote is read by both alike, and the packs
// decide rate, word and count. Error codes and damage: losses.test.ts, damage.test.ts. Tolerance: none, samples are integers.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { describeError } from '../../base/index.ts';
import { expandTable } from '../../signal/index.ts';
import { nonlinear12 } from '../../tape/index.ts';
import { type AudioFile, openAudio } from '../index.ts';
import { ffmpegDv, ffmpegDvPlanes, type MadeDv } from '../testing/dv-judge.ts';
import { blockAt, countsOf, type DvTape, dvStream, frameBytes, total } from '../testing/dv-stream.ts';
import { randomWords } from '../testing/signals.ts';
import { needTool, tempFolder } from '../testing/tools.ts';
import { type AudioSource, parseControl, parseSource, samplesOf } from './aaux.ts';
import { DV_SYSTEMS } from './dif-system.ts';
import { expansion12 } from './expand-12.ts';
import { placementOf } from './placement.ts';

const [NTSC, PAL] = DV_SYSTEMS;
const LAW = expandTable(nonlinear12);

async function planesOf(path: string, blockFrames: number): Promise<{ planes: Int32Array[]; info: AudioFile['info'] }> {
  const audio = await openAudio(path);
  try {
    const { channels, frames } = audio.info;
    const planes = Array.from({ length: channels }, () => new Int32Array(frames));
    for await (const block of audio.blocks({ blockFrames }))
      for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
    return { planes, info: audio.info };
  } finally {
    await audio.close();
  }
}

async function written(bytes: Uint8Array, name = 'tape.dv'): Promise<string> {
  const path = join(await tempFolder(), name);
  await writeFile(path, bytes);
  return path;
}

/** Every value but the error code; codes of 12 bits likewise. */
function sound(channels: number, frames: number, bits: 16 | 12, seed: number): Int32Array[] {
  const next = randomWords(seed);
  const lowest = -(2 ** (bits - 1));
  return Array.from({ length: channels }, () =>
    Int32Array.from({ length: frames }, () => {
      const value = next() >> (32 - bits);
      return value === lowest ? lowest + 1 : value;
    }),
  );
}

describe('streams that ffmpeg wrote', () => {
  const made: readonly MadeDv[] = [
    { lines: 625, rateHz: 48_000, seconds: 2 },
    { lines: 625, rateHz: 44_100, seconds: 2 },
    { lines: 625, rateHz: 32_000, seconds: 2 },
    { lines: 525, rateHz: 48_000, seconds: 2 },
    { lines: 525, rateHz: 48_000, seconds: 1, is50: true },
    { lines: 625, rateHz: 48_000, seconds: 1, is50: true },
  ];
  for (const wanted of made) {
    const { lines, rateHz, is50 } = wanted;
    test(`${lines} lines, ${rateHz} Hz${is50 ? ', 50 Mb/s' : ''}: the very samples ffmpeg decodes`, async (context) => {
      needTool(context, 'ffmpeg');
      const path = await ffmpegDv(wanted);
      const expected = await ffmpegDvPlanes(path, is50 ? 2 : 1);
      const { planes, info } = await planesOf(path, 777);
      expect(info).toMatchObject({ container: 'dv', rate: { num: rateHz, den: 1 }, bits: 16, problems: [] });
      expect(planes.map((plane) => plane.length)).toEqual(expected.map((plane) => plane.length));
      for (const [c, plane] of planes.entries()) expect(Buffer.compare(bytesOf(plane), bytesOf(expected[c]))).toBe(0);
      expect(new Set(planes[0]).size).toBeGreaterThan(5000);
    });
  }
});

describe('streams that we wrote', () => {
  const tapes: readonly (Omit<DvTape, 'planes' | 'counts'> & { mean: number; channels: number })[] = [
    { lines: 525, rateHz: 48_000, word: 16, mean: 1601.1, channels: 2, isUnlocked: true },
    { lines: 525, rateHz: 44_100, word: 16, mean: 1471.47, channels: 2, isUnlocked: true },
    { lines: 525, rateHz: 32_000, word: 16, mean: 1067.733, channels: 2 },
    { lines: 525, rateHz: 32_000, word: 12, mean: 1067.733, channels: 4 },
    { lines: 625, rateHz: 48_000, word: 16, mean: 1920.4, channels: 2, isUnlocked: true },
    { lines: 625, rateHz: 44_100, word: 16, mean: 1764, channels: 2 },
    { lines: 625, rateHz: 32_000, word: 12, mean: 1280.25, channels: 4, isUnlocked: true },
  ];
  for (const { mean, channels, ...shape } of tapes) {
    const { lines, rateHz, word } = shape;
    test(`${lines} lines, ${rateHz} Hz, ${word} bit, ${mean} samples a frame: read by ffmpeg and by us alike`, async (context) => {
      const counts = countsOf(12, mean);
      const planes = sound(channels, total(counts), word, lines + rateHz + word);
      const path = await written(dvStream({ ...shape, planes, counts, timecode: 0 }));
      const expected = word === 16 ? planes : planes.map((plane) => plane.map((code) => LAW[code & 0xfff]));
      const ours = await planesOf(path, 1000);
      expect(ours.info).toMatchObject({ channels, frames: total(counts), rate: { num: rateHz, den: 1 }, problems: [] });
      for (const [c, plane] of ours.planes.entries()) expect(plane).toEqual(expected[c]);
      needTool(context, 'ffmpeg');
      const theirs = await ffmpegDvPlanes(path, channels / 2, ['-f', 'dv']);
      for (const [c, plane] of theirs.entries()) expect(Int32Array.from(plane)).toEqual(expected[c]);
    });
  }

  test('a second pair that was never recorded leaves two channels', async () => {
    const counts = countsOf(3, 1280);
    const planes = sound(4, total(counts), 12, 5);
    const tape = { lines: 625, rateHz: 32_000, word: 12, planes, counts, secondMode: 15 } as const;
    const { info } = await planesOf(await written(dvStream(tape)), 4096);
    expect(info.channels).toBe(2);
  });

  test('any place reads as the whole does, and no result depends on the size of a block', async () => {
    const counts = countsOf(7, 1601.6);
    const planes = sound(2, total(counts), 16, 9);
    const path = await written(dvStream({ lines: 525, rateHz: 48_000, word: 16, planes, counts }));
    const audio = await openAudio(path);
    for (const [start, frames] of [
      [0, 1],
      [1599, 3],
      [1602, 1602],
      [5000, 4000],
      [total(counts) - 2, 10],
      [total(counts), 5],
    ]) {
      const block = await audio.read(start, frames);
      expect(block.start).toBe(start);
      expect(block.planes[1]).toEqual(planes[1].slice(start, start + frames));
    }
    for (const blockFrames of [1, 1601, 65_536]) expect((await planesOf(path, blockFrames)).planes).toEqual(planes);
    for await (const block of audio.blocks({ start: 4000 })) {
      expect(block.start).toBe(4000);
      expect(block.planes[0]).toEqual(planes[0].slice(4000));
    }
    await audio.close();
  });
});

describe('facts sheet', () => {
  test('byte offsets of channel 1 (14, check values 5)', () => {
    const rows = [
      [NTSC, { 1: 28328, 2: 56168, 3: 12488, 15: 1768, 45: 490, 1601: 33518 }],
      [PAL, { 1: 28328, 18: 1768, 54: 490, 1919: 21518 }],
    ] as const;
    for (const [system, places] of rows) {
      const { at } = placementOf(system, 2);
      for (const [n, byte] of Object.entries(places)) expect(at[Number(n)], `${system.id} n=${n}`).toBe(byte);
    }
  });

  test('first samples of A0 .. A8 (4.3, check rows)', () => {
    const rows = [
      [NTSC, 0, [0, 15, 30, 10, 25, 40, 5, 20, 35]],
      [NTSC, 2, [6, 21, 36, 1, 16, 31, 11, 26, 41]],
      [NTSC, 4, [12, 27, 42, 7, 22, 37, 2, 17, 32]],
      [PAL, 0, [0, 18, 36, 13, 31, 49, 8, 26, 44]],
      [PAL, 2, [6, 24, 42, 1, 19, 37, 14, 32, 50]],
      [PAL, 5, [15, 33, 51, 10, 28, 46, 5, 23, 41]],
    ] as const;
    for (const [system, sequence, firsts] of rows) {
      for (const entryBytes of [2, 3] as const) {
        const { at } = placementOf(system, entryBytes);
        expect(firsts.map((n) => at[n])).toEqual(firsts.map((_, k) => blockAt(sequence, k) + 8));
      }
    }
  });

  test('every sample of a full frame has a place of its own inside its frame (4.4, block capacity)', () => {
    for (const [system, entryBytes, capacity] of [
      [NTSC, 2, 1620],
      [PAL, 2, 1944],
      [NTSC, 3, 1080],
      [PAL, 3, 1296],
    ] as const) {
      const { at } = placementOf(system, entryBytes);
      expect(new Set(at).size).toBe(capacity);
      expect(Math.max(...at)).toBeLessThan(frameBytes(system === NTSC ? 525 : 625) / 2);
    }
  });

  test('AAUX vectors (4.5)', () => {
    const parsed = (hex: string): AudioSource | undefined => parseSource(Buffer.from(hex, 'hex'), 0);
    const dv525 = parsed('50cf30c0d1');
    expect(dv525).toMatchObject({ isLocked: false, rateHz: 32_000, word: 12, is50Fields: false, isEmphasised: false });
    expect(dv525 && samplesOf(dv525, NTSC)).toBe(1068);
    const dv625 = parsed('50d030e0d1');
    expect(dv625).toMatchObject({ isLocked: false, rateHz: 32_000, word: 12, is50Fields: true });
    expect(dv625 && samplesOf(dv625, PAL)).toBe(1280);
    const pro525 = parsed('505610c0c0');
    expect(pro525).toMatchObject({ isLocked: true, rateHz: 48_000, word: 16 });
    expect(pro525 && samplesOf(pro525, NTSC)).toBe(1602);
    const pro625 = parsed('505810e0c0');
    expect(pro625 && samplesOf(pro625, PAL)).toBe(1920);
    expect(parsed('505611c0c0')?.mode).toBe(1);
    expect(parsed('50563fc0c0')?.mode).toBe(15);
    expect(parseControl(Buffer.from('513fcfa0ff', 'hex'), 0)).toEqual({
      ...{ copy: 0, isEmphasised: false, isRecordingStart: false, isRecordingEnd: false, isForward: true, speed: 0x20 },
    });
  });

  test('no pack: another id, a rate or word that does not exist, a count beyond the most', () => {
    for (const hex of ['ffffffffff', '515610c0c0', '505610c0d8', '505610c0c3', '505610c0c1'])
      expect(parseSource(Buffer.from(hex, 'hex'), 0), hex).toBeUndefined();
    const tooMany = parseSource(Buffer.from('507f10c0c0', 'hex'), 0);
    expect(tooMany && samplesOf(tooMany, NTSC)).toBeUndefined();
  });

  test('the 12-bit law is that of the tape layer, over all codes (5.3)', () => {
    expect(Int32Array.from(expansion12())).toEqual(LAW);
    expect(expansion12().reduce((sum, value) => sum + value, 0)).toBe(-2048);
  });
});

describe('what cannot be read is refused by name', () => {
  const short = (over: Partial<DvTape>): Buffer => {
    const counts = countsOf(3, 1280);
    return dvStream({ lines: 625, rateHz: 32_000, word: 16, planes: sound(2, total(counts), 16, 1), counts, ...over });
  };
  const refusal = async (bytes: Buffer): Promise<string> => {
    try {
      await (await openAudio(await written(bytes))).close();
      return 'opened';
    } catch (error) {
      return describeError(error);
    }
  };

  test('20-bit words, eight audio blocks, no sound at all', async () => {
    const patched = (at: number, value: (old: number) => number): Buffer => {
      const bytes = short({});
      for (let f = 0; f < 3; f++)
        for (let s = 0; s < 12; s++) {
          const place = f * 144_000 + blockAt(s, s % 2 === 0 ? 3 : 0) + 3 + at;
          bytes[place] = value(bytes[place]);
        }
      return bytes;
    };
    expect(await refusal(patched(4, (old) => (old & 0xf8) | 2))).toContain('20-bit words');
    expect(await refusal(patched(3, (old) => (old & 0xe0) | 3))).toContain('eight audio blocks');
    expect(await refusal(patched(0, () => 0xff))).toContain('a DV stream without sound');
  });

  test('a mode that changes along the tape: several recordings, readable one by one', async () => {
    const first = short({});
    const counts = countsOf(4, 1920);
    const planes = sound(2, total(counts), 16, 2);
    const second = dvStream({ lines: 625, rateHz: 48_000, word: 16, planes, counts });
    const path = await written(Buffer.concat([first, second]));
    await expect(openAudio(path)).rejects.toThrow('the mode of the sound changes');
    const audio = await openAudio(path, { segment: 2 });
    expect(audio.info).toMatchObject({ rate: { num: 48_000, den: 1 }, frames: total(counts) });
    expect((await audio.read(0, 5000)).planes[0]).toEqual(planes[0].slice(0, 5000));
    await audio.close();
    await expect(openAudio(path, { segment: 3 })).rejects.toThrow('no such segment');
  });
});

function bytesOf(plane: Int32Array | Int16Array): Buffer {
  return Buffer.from(Int16Array.from(plane).buffer);
}
