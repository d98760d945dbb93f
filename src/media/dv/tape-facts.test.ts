// What a DV stream says of itself: clock and true rate, emphasis, copying, speed, time code, date and time. The tests write the packs;
// the arithmetic of drop-frame labels is checked against the counts of SMPTE 12M (107892 frames in an hour).
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { rateHz } from '../../base/index.ts';
import { openAudio } from '../index.ts';
import { countsOf, type DvTape, dvStream, frameBytes, total } from '../testing/dv-stream.ts';
import { randomWords } from '../testing/signals.ts';
import { tempFolder } from '../testing/tools.ts';
import type { DvFacts } from './dv-facts.ts';
import { clockOf, dateOf, frameNumberOf, timecodeOf, timecodeText } from './tape-time.ts';

async function factsOf(bytes: Uint8Array): Promise<DvFacts> {
  const path = join(await tempFolder(), 'tape.dv');
  await writeFile(path, bytes);
  const audio = await openAudio(path);
  const pass = audio.pass();
  for await (const _ of pass.blocks);
  await audio.close();
  const facts = pass.carrier?.()?.facts[0];
  if (facts?.kind !== 'dv') throw new Error('no facts');
  return facts;
}

function tape(over: Partial<DvTape> & { readonly mean?: number; readonly frames?: number }): DvTape {
  const { mean = 1920, frames = 5, ...rest } = over;
  const counts = countsOf(frames, mean);
  const next = randomWords(frames);
  const planes = Array.from({ length: rest.word === 12 ? 4 : 2 }, () =>
    Int32Array.from({ length: total(counts) }, () => (next() >> 24) * (rest.word === 12 ? 9 : 99)),
  );
  return { lines: 625, rateHz: 48_000, word: 16, planes, counts, ...rest };
}

describe('clock and true rate', () => {
  test('locked, both systems: samples over frames', async () => {
    const pal = await factsOf(dvStream(tape({})));
    expect(pal).toMatchObject({ system: '625/50', samplesPerFrame: { fewest: 1920, most: 1920 } });
    expect(pal.trueRate).toMatchObject({ num: 48_000, den: 1, ppm: 0 });
    expect(pal.flags).toMatchObject({ clock: 'locked', lockedFrames: 5 });
    const ntsc = await factsOf(dvStream(tape({ lines: 525, mean: 1601.6, frames: 10 })));
    expect(ntsc.trueRate).toMatchObject({ num: 48_000, den: 1 });
    expect(ntsc.samplesPerFrame).toEqual({ fewest: 1601, most: 1602 });
  });

  test('unlocked: the exact rational, and the nominal rate outside its bounds', async () => {
    const made = tape({ lines: 525, rateHz: 32_000, word: 12, mean: 1067.9, frames: 40, isUnlocked: true });
    const { trueRate, flags } = await factsOf(dvStream(made));
    if (!trueRate) throw new Error('no rate');
    expect(flags.clock).toBe('unlocked');
    expect(trueRate.num / trueRate.den).toBeCloseTo((total(made.counts) / 40) * (30_000 / 1001), 6);
    expect(rateHz({ num: trueRate.num, den: trueRate.den }) / 32_000 - 1).toBeCloseTo(trueRate.ppm / 1e6, 12);
    expect(Math.abs(trueRate.ppm - 1e6 * (1067.9 / (16_016 / 15) - 1))).toBeLessThan(trueRate.uncertaintyPpm);
    expect(Math.abs(trueRate.ppm)).toBeGreaterThan(trueRate.uncertaintyPpm);
  });

  test('a clock that changes along the tape', async () => {
    const both = Buffer.concat([dvStream(tape({ frames: 2 })), dvStream(tape({ frames: 3, isUnlocked: true }))]);
    expect((await factsOf(both)).flags).toMatchObject({ clock: 'changes', lockedFrames: 2, unlockedFrames: 3 });
  });
});

describe('flags', () => {
  test('emphasis, in the source pack of IEC 61834 and in the control pack of SMPTE 314M', async () => {
    for (const is314M of [false, true]) {
      const on = await factsOf(dvStream(tape({ isEmphasised: true, is314M })));
      expect(on.application).toBe(is314M ? 'SMPTE 314M' : 'IEC 61834');
      expect(on.flags.emphasisFrames).toEqual([5, 5]);
      expect((await factsOf(dvStream(tape({ is314M })))).flags.emphasisFrames).toEqual([0, 0]);
    }
  });

  test('copying', async () => {
    const words = ['free', 'unused-code', 'one-generation', 'none'];
    for (const [copy, word] of words.entries())
      expect((await factsOf(dvStream(tape({ copy })))).flags.copy).toEqual({ [word]: 5 });
  });

  test('speed and direction', async () => {
    expect((await factsOf(dvStream(tape({})))).flags).toMatchObject({ otherSpeedFrames: 0, reverseFrames: 0 });
    expect((await factsOf(dvStream(tape({ is314M: true })))).flags.otherSpeedFrames).toBe(0);
    expect((await factsOf(dvStream(tape({ speed: 0x40 })))).flags).toMatchObject({ otherSpeedFrames: 5 });
    expect((await factsOf(dvStream(tape({ isReverse: true })))).flags).toMatchObject({ reverseFrames: 5 });
  });

  test('a damaged copy of a pack does not decide', async () => {
    const bytes = dvStream(tape({ copy: 2, timecode: 0 }));
    for (let f = 0; f < 5; f++) bytes[f * frameBytes(625) + (6 + 16 * 4) * 80 + 4] = 0x3f;
    const facts = await factsOf(bytes);
    expect(facts.flags.copy).toEqual({ 'one-generation': 5 });
  });
});

describe('time', () => {
  test('time code with and without dropped labels', async () => {
    const { timecode } = await factsOf(dvStream(tape({ timecode: 90_000 })));
    expect(timecode.runs).toEqual([{ firstFrame: 0, frames: 5, from: '01:00:00:00', to: '01:00:00:04' }]);
    const drop = { lines: 525, mean: 1601.6, timecode: 107_890, isDropFrame: true } as const;
    const dropped = await factsOf(dvStream(tape(drop)));
    expect(dropped.timecode.runs).toEqual([{ firstFrame: 0, frames: 5, from: '00:59:59;28', to: '01:00:00;02' }]);
    const minute = await factsOf(dvStream(tape({ ...drop, timecode: 1798 })));
    expect(minute.timecode.runs).toEqual([{ firstFrame: 0, frames: 5, from: '00:00:59;28', to: '00:01:00;04' }]);
    expect((await factsOf(dvStream(tape({})))).timecode).toEqual({ runs: [], framesWithout: 5, moreRuns: 0 });
  });

  test('labels count as SMPTE 12M counts them', () => {
    const hour = timecodeOf(0x40000001, 525);
    if (!hour) throw new Error('no time code');
    expect(timecodeText(hour)).toBe('01:00:00;00');
    expect(frameNumberOf(hour, 525)).toBe(107_892);
    const plain = timecodeOf(0x00000001, 525);
    expect(plain && frameNumberOf(plain, 525)).toBe(108_000);
    expect(timecodeOf(0x40000001, 625)).toMatchObject({ isDropFrame: false });
  });

  test('what is no number is no time', () => {
    for (const pack of [0xffffffff, 0x0a000000, 0x30000000, 0x00600000, 0x00006000, 0x00000024])
      expect(timecodeOf(pack, 525), pack.toString(16)).toBeUndefined();
    expect(timecodeOf(0x25000000, 625)).toBeUndefined();
    expect([dateOf(0xffc1e170), dateOf(0xff03e201), dateOf(0xffffffff), dateOf(0xffc0e170)]).toEqual([
      '2070-01-01',
      '2001-02-03',
      undefined,
      undefined,
    ]);
    expect(dateOf(0xff03e298)).toBe('1998-02-03');
    expect([clockOf(0xff8080c0), clockOf(0xffd6b4d2), clockOf(0xffffffff)]).toEqual([
      '00:00:00',
      '12:34:56',
      undefined,
    ]);
  });

  test('recordings by the clock of the tape', async () => {
    const recordedAt = (f: number): number => (f < 3 ? 1000 + f / 25 : 90_061 + f / 25);
    const { recordings } = await factsOf(dvStream(tape({ recordedAt })));
    expect(recordings.list).toEqual([
      { firstFrame: 0, frames: 3, date: '2000-01-01', time: '00:16:40', beganBy: 'stream' },
      { firstFrame: 3, frames: 2, date: '2000-01-02', time: '01:01:01', beganBy: 'clock' },
    ]);
  });
});
