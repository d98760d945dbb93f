// Damaged, cut and wrongly joined DV streams: what is missing is told and stands as lost samples, what is there is read, and the frames
// behind the damage are in place. Truth: the tests did the damage. Tolerance: none.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { CarrierReport } from '../carrier.ts';
import { openAudio } from '../index.ts';
import { blockAt, countsOf, type DvTape, dvStream, total } from '../testing/dv-stream.ts';
import { randomWords } from '../testing/signals.ts';
import { tempFolder } from '../testing/tools.ts';
import type { DvFacts } from './dv-facts.ts';

const LOST = -32_768;
const FRAME = 120_000;
const FRAMES = 8;
const COUNTS = countsOf(FRAMES, 1601.6);
const STARTS = COUNTS.map((_, f) => total(COUNTS.slice(0, f)));
const next = randomWords(77);
const PLANES = [0, 1].map(() => Int32Array.from({ length: total(COUNTS) }, () => next() >> 17));
const TAPE: DvTape = { lines: 525, rateHz: 48_000, word: 16, planes: PLANES, counts: COUNTS, timecode: 1000 };
const WHOLE = dvStream(TAPE);

interface Passed {
  readonly report: CarrierReport;
  readonly facts: DvFacts;
  readonly planes: readonly Int32Array[];
  readonly problems: readonly string[];
  readonly messages: string;
  readonly readAs: string;
}

async function passed(bytes: Uint8Array): Promise<Passed> {
  const path = join(await tempFolder(), 'tape.dv');
  await writeFile(path, bytes);
  const audio = await openAudio(path);
  const { channels, frames, readAs } = audio.info;
  const planes = Array.from({ length: channels }, () => new Int32Array(frames));
  const pass = audio.pass({ blockFrames: 4000 });
  for await (const block of pass.blocks)
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  await audio.close();
  const report = pass.carrier?.();
  const facts = report?.facts[0];
  if (!report || facts?.kind !== 'dv') throw new Error('no report of the carrier');
  const problems = pass.problems();
  const messages = problems.map(({ message }) => message).join('; ');
  return { report, facts, planes, problems: problems.map(({ id }) => id), messages, readAs };
}

function copy(): Buffer {
  return Buffer.from(WHOLE);
}

const frameOf = (planes: readonly Int32Array[], f: number, channel = 0, start = STARTS[f]): Int32Array =>
  planes[channel].slice(start, start + COUNTS[f]);

const lostIn = (plane: Int32Array): number => plane.filter((value) => value === LOST).length;

/** Every sample is there, and these problems are told. */
async function expectWhole(bytes: Buffer, problems: readonly string[]): Promise<void> {
  const result = await passed(bytes);
  expect(result.problems).toEqual(problems);
  for (const [c, plane] of result.planes.entries())
    expect(plane.every((value, i) => value === PLANES[c][i])).toBe(true);
}

describe('bytes that are missing', () => {
  test('the last frame is cut: its first tracks are read, the rest is lost, nothing else changes', async () => {
    const { planes, problems, readAs, report } = await passed(WHOLE.subarray(0, 7 * FRAME + 3 * 12_000 + 5000));
    expect([problems, readAs]).toEqual([['dv-frame-short'], 'partial']);
    for (let f = 0; f < 7; f++) expect(frameOf(planes, f)).toEqual(frameOf(PLANES, f));
    const last = frameOf(planes, 7);
    expect(last).toHaveLength(COUNTS[7]);
    for (const [i, value] of last.entries()) if (value !== LOST) expect(value).toBe(PLANES[0][STARTS[7] + i]);
    // Tracks 0, 1, 2 are whole; of track 3 A0 to A3 end before byte 5000. A block has 35 or 36 samples of a frame.
    expect(lostIn(last)).toBeGreaterThanOrEqual((5 + 9) * 35);
    expect(lostIn(last)).toBeLessThanOrEqual((5 + 9) * 36);
    expect(report.losses.map(({ cause, channel, firstFrame }) => [cause, channel, firstFrame])).toEqual([
      ['missing-data', 1, 7],
      ['missing-data', 2, 7],
    ]);
    expect(lostIn(frameOf(planes, 7, 1))).toBe(COUNTS[7]);
  });

  test('bytes lost inside a frame: the next frames are found again', async () => {
    for (const cut of [1, 80, 4999, 12_000, 100_000]) {
      const bytes = Buffer.concat([WHOLE.subarray(0, 2 * FRAME + 15_000), WHOLE.subarray(2 * FRAME + 15_000 + cut)]);
      const { planes, problems, readAs } = await passed(bytes);
      expect(problems, `${cut}`).toContain('dv-frame-short');
      expect(readAs).toBe('partial');
      for (const f of [0, 1, 3, 4, 7]) expect(frameOf(planes, f), `${cut} frame ${f}`).toEqual(frameOf(PLANES, f));
      expect(lostIn(planes[0])).toBeGreaterThan(0);
    }
  });

  test('half a frame and nothing else', async () => {
    const { planes, facts } = await passed(WHOLE.subarray(0, 60_000));
    expect(facts.tapeFrames).toBe(1);
    expect(frameOf(planes, 0)).toEqual(frameOf(PLANES, 0));
    expect(lostIn(planes[1])).toBe(COUNTS[0]);
  });

  test('a stream that begins inside a frame, and rubbish between frames', async () => {
    const begun = await passed(WHOLE.subarray(50_000));
    expect([begun.problems, begun.readAs]).toEqual([['dv-begins-inside-frame'], 'partial']);
    expect(frameOf(begun.planes, 1, 0, 0)).toEqual(frameOf(PLANES, 1));
    const rubbish = Buffer.from(Array.from({ length: 7777 }, () => next() & 0xff));
    const between = await passed(Buffer.concat([WHOLE.subarray(0, 3 * FRAME), rubbish, WHOLE.subarray(3 * FRAME)]));
    expect(between.planes).toEqual(PLANES);
    expect(between.messages).toContain('7777 bytes belong to no frame');
    const after = await passed(Buffer.concat([WHOLE, rubbish]));
    expect(after.planes).toEqual(PLANES);
    expect(after.readAs).toBe('partial');
  });
});

describe('bytes that are wrong', () => {
  test('a destroyed header, the system bit of every frame, one damaged pack: read all the same, and told', async () => {
    const header = copy().fill(0xaa, 4 * FRAME, 4 * FRAME + 480);
    await expectWhole(header, ['dv-header-damaged']);
    const system = copy();
    for (let f = 0; f < FRAMES; f++) system[f * FRAME + 3] ^= 0x80;
    await expectWhole(system, ['dv-system-contradiction']);
    const pack = copy();
    pack[5 * FRAME + blockAt(0, 3) + 4] ^= 4;
    await expectWhole(pack, ['dv-packs-differ']);
  });

  test('a frame without any pack: its place is kept, all of it counts as lost', async () => {
    const bytes = copy();
    for (let s = 0; s < 10; s++) bytes[5 * FRAME + blockAt(s, s % 2 === 0 ? 3 : 0) + 3] = 0xff;
    const { planes, problems, report, readAs, facts } = await passed(bytes);
    expect([problems, readAs]).toEqual([['dv-frame-without-sound'], 'partial']);
    expect(report.losses.map(({ cause, channel, samples }) => [cause, channel, samples])).toEqual([
      ['no-sound', 1, COUNTS[5]],
      ['no-sound', 2, COUNTS[5]],
    ]);
    expect(lostIn(planes[1])).toBe(COUNTS[5]);
    expect(frameOf(planes, 4)).toEqual(frameOf(PLANES, 4));
    expect(facts.framesWithSound).toBe(7);
    expect(planes[0].slice(-COUNTS[7])).toEqual(frameOf(PLANES, 7));
  });

  test('an audio block that is not itself is lost, and only that', async () => {
    for (const [byte, value] of [
      [0, 0x9f],
      [1, 0x77],
      [2, 5],
    ]) {
      const bytes = copy();
      bytes[FRAME + blockAt(3, 4) + byte] = value;
      const { planes, report } = await passed(bytes);
      expect(report.losses).toHaveLength(1);
      const [loss] = report.losses;
      expect(loss).toMatchObject({ cause: 'missing-data', channel: 1, firstFrame: 1, tracks: [{ track: 3 }] });
      expect([35, 36]).toContain(loss.samples);
      expect(lostIn(planes[0])).toBe(loss.samples);
      expect(planes[1]).toEqual(PLANES[1]);
    }
  });

  test('halves that count differently: the first is followed, and what that costs is told', async () => {
    const short = await passed(dvStream({ ...TAPE, secondDelta: (f) => (f === 2 ? -2 : 0) }));
    expect([short.problems, short.readAs]).toEqual([['dv-halves-differ'], 'whole']);
    expect(short.planes[0]).toEqual(PLANES[0]);
    expect(frameOf(short.planes, 2, 1).slice(-3)).toEqual(Int32Array.of(PLANES[1][STARTS[3] - 3], LOST, LOST));
    expect(short.report.losses.map(({ channel, samples, cause }) => [channel, samples, cause])).toEqual([
      [2, 2, 'missing-data'],
    ]);
    const long = await passed(dvStream({ ...TAPE, secondDelta: () => 1 }));
    expect([long.problems, long.readAs]).toEqual([['dv-halves-differ'], 'partial']);
    expect(long.messages).toContain(`${FRAMES} samples of the second half were left out`);
    expect(long.planes[1]).toEqual(PLANES[1]);
  });

  test('one frame that names another mode is damage, two are another recording', async () => {
    const odd = (from: number, count: number): Buffer => {
      const bytes = copy();
      for (let f = from; f < from + count; f++)
        for (let s = 0; s < 10; s++) bytes[f * FRAME + blockAt(s, s % 2 === 0 ? 3 : 0) + 7] = 0xc8;
      return bytes;
    };
    for (const f of [3, 7]) {
      const one = await passed(odd(f, 1));
      expect([one.problems, one.readAs]).toEqual([['dv-frame-odd'], 'partial']);
      expect(lostIn(frameOf(one.planes, f))).toBe(COUNTS[f]);
      expect(frameOf(one.planes, f - 1)).toEqual(frameOf(PLANES, f - 1));
    }
    await expect(passed(odd(3, 2))).rejects.toThrow('the mode of the sound changes');
  });

  test('random bytes are no DV', async () => {
    const bytes = Buffer.from(Array.from({ length: 400_000 }, () => next() & 0xff));
    await expect(passed(bytes)).rejects.toThrow('no audio file of a known kind');
  });
});

describe('frames that are missing, repeated or of another tape', () => {
  const without = (f: number, count: number): Buffer =>
    Buffer.concat([WHOLE.subarray(0, f * FRAME), WHOLE.subarray((f + count) * FRAME)]);

  test('lost frames, by the time code', async () => {
    const { report, problems, messages, readAs } = await passed(without(3, 2));
    expect(report.events).toHaveLength(1);
    expect(report.events[0]).toMatchObject({ kind: 'lost-frames', start: STARTS[3], measured: 2, firstFrame: 3 });
    expect([problems, readAs]).toEqual([['dv-frames-lost'], 'whole']);
    expect(messages).toContain('frames of the tape that are missing, by its time code: 2');
  });

  test('a label that was misread is no gap', async () => {
    const { report, problems } = await passed(dvStream({ ...TAPE, timecode: (f) => 1000 + f + (f === 4 ? 9 : 0) }));
    expect(report.events.map(({ kind, measured }) => [kind, measured])).toEqual([
      ['timecode-jump', 9],
      ['timecode-jump', -9],
    ]);
    expect(problems).toEqual([]);
  });

  test('a frame that was given again, and silence that was not', async () => {
    const twice = Buffer.concat([WHOLE.subarray(0, 4 * FRAME), WHOLE.subarray(3 * FRAME)]);
    const { report, problems } = await passed(twice);
    expect(problems).toEqual(['dv-frames-repeated']);
    const again = report.events.filter(({ kind }) => kind === 'repeated');
    expect(again).toHaveLength(1);
    expect(again[0]).toMatchObject({ start: STARTS[3] + COUNTS[3], length: COUNTS[3], detail: { isSameLabel: true } });
    const silence = PLANES.map((plane) => new Int32Array(plane.length));
    expect((await passed(dvStream({ ...TAPE, planes: silence }))).report.events).toEqual([]);
  });

  test('two tapes in one file: the code jumps, and no frame is called lost', async () => {
    const other = dvStream({ ...TAPE, timecode: 90_000 });
    const { report, problems, planes } = await passed(Buffer.concat([WHOLE, other]));
    expect(report.events.map(({ kind, measured }) => [kind, measured])).toEqual([['timecode-jump', 88_992]]);
    expect(problems).toEqual([]);
    expect(planes[0]).toHaveLength(2 * PLANES[0].length);
  });

  test('where a recording begins, a jump is the tape’s own; where its clock ran on, nothing is missing', async () => {
    const jumps = (frame: number): number => 1000 + frame + (frame >= 4 ? 50 : 0);
    const flagged = await passed(dvStream({ ...TAPE, timecode: jumps, recordingStarts: [4, 5] }));
    expect(flagged.report.events.map(({ kind }) => kind).sort()).toEqual(['recording-start', 'timecode-jump']);
    const clockSame = await passed(dvStream({ ...TAPE, timecode: jumps, recordedAt: (f) => 100 + f / 30 }));
    expect(clockSame.report.events.map(({ kind }) => kind)).toEqual(['timecode-jump']);
    const clockToo = await passed(
      dvStream({ ...TAPE, timecode: jumps, recordedAt: (f) => 100 + (jumps(f) - 1000) / 30 }),
    );
    expect(clockToo.report.events.map(({ kind, confidence }) => [kind, confidence])).toEqual([['lost-frames', 0.95]]);
  });
});
