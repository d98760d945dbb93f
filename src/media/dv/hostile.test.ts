// Any damage to a DV stream, bare or wrapped, ends in samples or in our own error, with all counts kept: property-based, seeded.
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { openAudio } from '../index.ts';
import { ffmpegWrap } from '../testing/dv-judge.ts';
import { countsOf, dvStream, total } from '../testing/dv-stream.ts';
import { mutate, readOrRefuse } from '../testing/fuzz.ts';
import { randomWords } from '../testing/signals.ts';
import { tapeFiles } from '../testing/tape-files.ts';
import { needTool, tempFolder } from '../testing/tools.ts';

const COUNTS = countsOf(4, 1601.6);
const next = randomWords(11);
const PLANES = [0, 1].map(() => Int32Array.from({ length: total(COUNTS) }, () => next() >> 17));
const STREAM = dvStream({ lines: 525, rateHz: 48_000, word: 16, planes: PLANES, counts: COUNTS, timecode: 5 });
const FOUR = dvStream({
  ...{ lines: 625, rateHz: 32_000, word: 12, counts: [1280, 1281] },
  planes: [0, 1, 2, 3].map(() => Int32Array.from({ length: 2561 }, () => next() >> 21)),
});

/** Flips, cuts and foreign bytes at any place, in the order given. */
const damage = fc.array(
  fc.record({
    kind: fc.constantFrom('flip', 'cut', 'insert', 'zero'),
    at: fc.double({ min: 0, max: 1, noNaN: true }),
    length: fc.integer({ min: 1, max: 130_000 }),
  }),
  { minLength: 1, maxLength: 6 },
);

function damaged(bytes: Buffer, changes: readonly { kind: string; at: number; length: number }[]): Buffer {
  let out = Buffer.from(bytes);
  for (const { kind, at, length } of changes) {
    const from = Math.floor(at * out.length);
    if (kind === 'flip' && from < out.length) out[from] ^= 1 << (length % 8);
    if (kind === 'zero') out.fill(0, from, Math.min(out.length, from + length));
    if (kind === 'cut') out = Buffer.concat([out.subarray(0, from), out.subarray(from + length)]);
    if (kind === 'insert') out = Buffer.concat([out.subarray(0, from), Buffer.alloc(length, 0x5a), out.subarray(from)]);
  }
  return out;
}

describe('hostile DV', () => {
  for (const [name, bytes] of [
    ['two channels', STREAM],
    ['four channels', FOUR],
  ] as const) {
    test(`${name}: flips, cuts and rubbish`, async () => {
      const path = join(await tempFolder(), 'hostile');
      const outcomes = new Set<string>();
      await fc.assert(
        fc.asyncProperty(damage, async (changes) => {
          await writeFile(path, damaged(bytes, changes));
          outcomes.add(await readOrRefuse(path));
        }),
        { numRuns: 60, seed: 3 },
      );
      expect(outcomes.size).toBeGreaterThanOrEqual(4);
    });
  }

  test('what a cut leaves whole is read as it was', async () => {
    const path = join(await tempFolder(), 'cut');
    await fc.assert(
      fc.asyncProperty(fc.integer({ min: 1, max: STREAM.length }), async (length) => {
        await writeFile(path, STREAM.subarray(0, length));
        const whole = Math.floor(length / 120_000);
        if (whole === 0) return void (await readOrRefuse(path));
        const audio = await openAudio(path);
        const samples = total(COUNTS.slice(0, whole));
        const block = await audio.read(0, samples);
        expect(block.planes.every((plane, c) => plane.every((value, i) => value === PLANES[c][i]))).toBe(true);
        expect(audio.info.readAs).toBe(length % 120_000 === 0 ? 'whole' : 'partial');
        await audio.close();
      }),
      { numRuns: 40, seed: 4 },
    );
  });

  test('the files of the soak are whole as they are', async () => {
    const path = join(await tempFolder(), 'valid');
    for (const [i, bytes] of tapeFiles().entries()) {
      await writeFile(path, bytes);
      expect(await readOrRefuse(path)).toBe(['dv ', 'dv ', 'dv-avi ', 'dat-frames '][i]);
    }
  });

  test('wrappers with random damage to their bytes', async (context) => {
    needTool(context, 'ffmpeg');
    const bare = join(await tempFolder(), 'bare.dv');
    await writeFile(bare, STREAM);
    const path = join(await tempFolder(), 'wrapped');
    for (const extension of ['avi', 'mov'] as const) {
      const bytes = await readFile(await ffmpegWrap(bare, extension, ['-map', '0:v', '-map', '0:a']));
      const index = extension === 'mov' ? bytes.indexOf('moov') : 0;
      // What matters is the index: of a movie it comes last. Half of the changes fall into the first 128 bytes of what is given.
      for (let i = 0; i < 40; i++) {
        const changed = mutate(bytes.subarray(index), next);
        await writeFile(path, Buffer.concat([bytes.subarray(0, index), changed]));
        await readOrRefuse(path);
      }
    }
  });
});
