// DAT frame dumps: samples, flags, times and programmes as they were written, the drive's own interpolation flags as losses, and what
// is damaged, cut or cannot be read told by name. The tests write the frames after the facts sheet (5.4); no tool at hand reads such files.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { CarrierReport } from '../carrier.ts';
import { isAudioPath, openAudio } from '../index.ts';
import { DAT_FRAME, type DatTape, datFrames } from '../testing/dat-frames.ts';
import { mutate, readOrRefuse } from '../testing/fuzz.ts';
import { noisePlanes, randomWords } from '../testing/signals.ts';
import { tempFolder } from '../testing/tools.ts';
import type { DatFacts } from './dat-facts.ts';
import { timeOf } from './dat-time.ts';

const SAMPLES = { 48000: 1440, 44100: 1323, 32000: 960 } as const;

function tape(over: Partial<DatTape> & { readonly frames?: number }): DatTape {
  const { frames = 40, ...rest } = over;
  const rateHz = rest.rateHz ?? 48_000;
  return { rateHz, planes: noisePlanes(2, frames * SAMPLES[rateHz], 16), absolute: (f) => 3290 + f, ...rest };
}

async function written(bytes: Uint8Array): Promise<string> {
  const path = join(await tempFolder(), 'tape.dat');
  await writeFile(path, bytes);
  return path;
}

async function passed(bytes: Uint8Array, segment?: number) {
  const audio = await openAudio(await written(bytes), { segment });
  const { frames, info } = { frames: audio.info.frames, info: audio.info };
  const planes = [new Int32Array(frames), new Int32Array(frames)];
  const pass = audio.pass({ blockFrames: 5000 });
  for await (const block of pass.blocks)
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  const middle = await audio.read(1000, 3000);
  expect(middle.planes[1]).toEqual(planes[1].slice(1000, 4000));
  await audio.close();
  const report = pass.carrier?.() as CarrierReport;
  const facts = report.facts[0];
  if (facts.kind !== 'dat') throw new Error('no facts of a DAT');
  return { info, planes, report, facts: facts as DatFacts, problems: pass.problems().map(({ id }) => id) };
}

describe('DAT frames', () => {
  for (const rateHz of [48_000, 44_100, 32_000] as const) {
    test(`${rateHz} Hz: every sample, left first, low byte first`, async () => {
      const made = tape({ rateHz });
      const { info, planes, problems, report } = await passed(datFrames(made));
      expect(info).toMatchObject({ container: 'dat-frames', channels: 2, bits: 16, rate: { num: rateHz, den: 1 } });
      expect(info.lostValue).toBeUndefined();
      expect(planes).toEqual(made.planes);
      expect([problems, report.losses, report.events]).toEqual([[], [], []]);
    });
  }

  test('is found by its contents', async () => {
    expect(await isAudioPath(await written(datFrames(tape({ rateHz: 44_100, programme: () => 7 }))))).toBe(true);
  });

  test('emphasis, copying, programmes, start IDs, date', async () => {
    const made = tape({
      ...{ isEmphasised: true, copy: 3, recordedAt: 86_400 * 31 + 3661 },
      programme: (f) => (f < 15 ? 12 : 113),
      isStart: (f) => f < 5 || (f >= 15 && f < 30),
    });
    const { facts, report } = await passed(datFrames(made));
    expect(facts).toMatchObject({ emphasisFrames: 40, copy: { 'one-generation': 40 }, badPacks: 0, startIds: [0, 15] });
    expect(facts.recorded).toEqual({ date: '2000-02-01', time: '01:01:01' });
    expect(facts.programmes.list).toEqual([
      { firstFrame: 0, frames: 15, programme: 12 },
      { firstFrame: 15, frames: 25, programme: 113 },
    ]);
    expect(facts.absoluteTime.runs).toEqual([{ firstFrame: 0, frames: 40, from: '00:01:38.24', to: '00:01:39.29' }]);
    expect(report.events.map(({ kind, start, measured }) => [kind, start, measured])).toEqual([
      ['start-id', 0, 12],
      ['start-id', 15 * 1440, 113],
    ]);
  });

  test('three seconds have a hundred labels, each once', () => {
    const labels = new Set<number>();
    const bytes = datFrames({ rateHz: 32_000, planes: noisePlanes(2, 960 * 300, 16), absolute: (f) => f });
    for (let f = 0; f < 300; f++) {
      const label = timeOf(bytes, f * DAT_FRAME + 5760);
      expect(label?.number).toBe(f);
      labels.add(f);
    }
    expect(labels.size).toBe(300);
    expect(timeOf(Uint8Array.of(0x20, 0xaa, 1, 0, 0, 1, 0x33, 0), 0)).toBeUndefined();
    expect(timeOf(Uint8Array.of(0x20, 0xaa, 1, 0, 0, 2, 0x33, 0), 0)?.number).toBe(99);
    expect(timeOf(Uint8Array.of(0x20, 0xaa, 1, 0xbb, 0xbb, 0xbb, 0xbb, 0), 0)).toBeUndefined();
  });

  test('what the drive estimated is a loss of its channel in that frame', async () => {
    const interpolated = (f: number) => ({ left: f === 3 || f === 4, right: f === 9 });
    const { report, facts } = await passed(datFrames(tape({ interpolated })));
    expect(facts.interpolatedFrames).toEqual([2, 1]);
    expect(report.losses.map(({ cause, channel, start, length }) => [cause, channel, start, length])).toEqual([
      ['drive-interpolated', 1, 3 * 1440, 2 * 1440],
      ['drive-interpolated', 2, 9 * 1440, 1440],
    ]);
  });

  test('frames that are missing, by the absolute time; frames that came twice', async () => {
    const bytes = datFrames(tape({}));
    const without = Buffer.concat([bytes.subarray(0, 10 * DAT_FRAME), bytes.subarray(13 * DAT_FRAME)]);
    const lost = await passed(without);
    expect(lost.problems).toEqual(['dat-frames-lost']);
    expect(lost.report.events).toMatchObject([{ kind: 'lost-frames', measured: 3, start: 10 * 1440 }]);
    const twice = await passed(Buffer.concat([bytes.subarray(0, 11 * DAT_FRAME), bytes.subarray(10 * DAT_FRAME)]));
    expect(twice.problems).toContain('dat-frames-repeated');
  });

  test('cut, shifted and damaged: the rest is read, and what is not is told', async () => {
    const made = tape({});
    const bytes = datFrames(made);
    const cut = await passed(bytes.subarray(0, 20 * DAT_FRAME + 100));
    expect([cut.problems, cut.info.readAs, cut.info.frames]).toEqual([['dat-stray-bytes'], 'partial', 20 * 1440]);
    const holed = Buffer.concat([bytes.subarray(0, 20 * DAT_FRAME + 1000), bytes.subarray(20 * DAT_FRAME + 1777)]);
    const shifted = await passed(holed);
    expect(shifted.problems).toContain('dat-stray-bytes');
    expect(shifted.planes[0].slice(-19 * 1440)).toEqual(made.planes[0].slice(-19 * 1440));
    const damaged = Buffer.from(bytes).fill(0xa5, 7 * DAT_FRAME + 5760, 8 * DAT_FRAME);
    const kept = await passed(damaged);
    expect(kept.problems).toContain('dat-subcode-damaged');
    expect(kept.planes).toEqual(made.planes);
  });

  test('one frame that names another rate is damage to its subcode', async () => {
    const made = tape({});
    const bytes = datFrames(made);
    bytes[9 * DAT_FRAME + 5820] = 0x04;
    const { planes, problems } = await passed(bytes);
    expect(problems).toEqual(['dat-subcode-damaged']);
    expect(planes).toEqual(made.planes);
  });

  test('a rate that changes along the tape: two recordings', async () => {
    const second = tape({ rateHz: 44_100, frames: 12 });
    const both = Buffer.concat([datFrames(tape({})), datFrames(second)]);
    await expect(passed(both)).rejects.toThrow('the rate changes along the tape');
    expect((await passed(both, 2)).planes).toEqual(second.planes);
  });

  test('12 bits and four channels are refused by name; zeros and noise are no DAT', async () => {
    for (const over of [
      { is12Bit: true, rateHz: 32_000 },
      { isFourChannel: true, rateHz: 32_000 },
    ] as const)
      await expect(passed(datFrames(tape(over)))).rejects.toThrow('the sound of these DAT frames cannot be read');
    await expect(passed(Buffer.alloc(20 * DAT_FRAME))).rejects.toThrow('no audio file of a known kind');
    const next = randomWords(8);
    const noise = Buffer.from(Array.from({ length: 20 * DAT_FRAME }, () => next() & 0xff));
    await expect(passed(noise)).rejects.toThrow('no audio file of a known kind');
  });

  test('random damage ends in samples or in our own error', async () => {
    const bytes = datFrames(tape({ frames: 6 }));
    const path = join(await tempFolder(), 'hostile');
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1, max: 2 ** 31 - 1 }), async (seed) => {
        await writeFile(path, mutate(bytes, randomWords(seed)));
        await readOrRefuse(path);
      }),
      { numRuns: 80, seed: 5 },
    );
  });
});
