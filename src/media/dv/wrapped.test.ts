// DV in AVI and QuickTime: the same samples as the bare stream, with and without an index, whole or broken off. ffmpeg wraps.
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { isAudioPath, openAudio } from '../index.ts';
import { ffmpegWrap } from '../testing/dv-judge.ts';
import { countsOf, dvStream, total } from '../testing/dv-stream.ts';
import { randomWords } from '../testing/signals.ts';
import { needTool, tempFolder } from '../testing/tools.ts';

const COUNTS = countsOf(12, 1920);
const next = randomWords(4);
const PLANES = [0, 1].map(() => Int32Array.from({ length: total(COUNTS) }, () => next() >> 17));
const STREAM = dvStream({ lines: 625, rateHz: 48_000, word: 16, planes: PLANES, counts: COUNTS, timecode: 0 });

async function written(bytes: Uint8Array): Promise<string> {
  const path = join(await tempFolder(), 'tape');
  await writeFile(path, bytes);
  return path;
}

async function read(path: string) {
  const audio = await openAudio(path);
  const { channels, frames, container, readAs } = audio.info;
  const planes = Array.from({ length: channels }, () => new Int32Array(frames));
  const pass = audio.pass({ blockFrames: 5000 });
  for await (const block of pass.blocks)
    for (const [c, plane] of block.planes.entries()) planes[c].set(plane, block.start);
  await audio.close();
  return { planes, container, readAs, problems: pass.problems().map(({ id }) => id), digests: pass.digests() };
}

const VIDEO_ONLY = ['-map', '0:v'];
const BOTH = ['-map', '0:v', '-map', '0:a'];

describe('wrappers', () => {
  for (const [name, extension, maps, container, problems] of [
    ['AVI type 1: one stream', 'avi', VIDEO_ONLY, 'dv-avi', []],
    ['AVI type 2: the sound beside it', 'avi', BOTH, 'dv-avi', ['dv-sound-beside']],
    ['QuickTime', 'mov', VIDEO_ONLY, 'dv-quicktime', []],
    ['QuickTime with a sound track', 'mov', BOTH, 'dv-quicktime', ['dv-sound-beside']],
  ] as const) {
    test(`${name}: the samples and the digest of the bare stream`, async (context) => {
      needTool(context, 'ffmpeg');
      const bare = await written(STREAM);
      const plain = await read(bare);
      expect(plain.planes).toEqual(PLANES);
      const path = await ffmpegWrap(bare, extension, maps);
      expect(await isAudioPath(path)).toBe(true);
      const result = await read(path);
      expect(result).toMatchObject({ container, problems, readAs: 'whole' });
      expect(result.planes).toEqual(PLANES);
      expect(result.digests.audio).toEqual(plain.digests.audio);
      expect(result.digests.file).not.toEqual(plain.digests.file);
    });
  }

  test('broken off: an AVI is read to its last byte, a QuickTime movie without its index by search', async (context) => {
    needTool(context, 'ffmpeg');
    const bare = await written(STREAM);
    const avi = await readFile(await ffmpegWrap(bare, 'avi', BOTH));
    for (const into of [0, 50_000]) {
      const cut = await read(await written(avi.subarray(0, chunkOf(avi, 6) + into)));
      expect(cut.readAs).toBe('partial');
      expect(cut.problems).toContain('dv-wrapper-truncated');
      expect(cut.planes[0]).toHaveLength((into > 0 ? 7 : 6) * 1920);
      expect(cut.planes[0].slice(0, 6 * 1920)).toEqual(PLANES[0].slice(0, 6 * 1920));
    }
    const movie = await readFile(await ffmpegWrap(bare, 'mov', BOTH));
    const index = movie.indexOf('moov');
    const cutMovie = await read(await written(movie.subarray(0, index - 4)));
    expect(cutMovie.problems).toContain('dv-no-index');
    expect(cutMovie.planes).toEqual(PLANES);
  });

  test('rubbish inside an AVI: the chunks are found again; a dropped frame keeps its place', async (context) => {
    needTool(context, 'ffmpeg');
    const avi = await readFile(await ffmpegWrap(await written(STREAM), 'avi', VIDEO_ONLY));
    const fifth = chunkOf(avi, 5);
    const rubbish = Buffer.alloc(3000, 0xee);
    const mixed = await read(await written(Buffer.concat([avi.subarray(0, fifth), rubbish, avi.subarray(fifth)])));
    expect(mixed.problems).toEqual(['dv-stray-bytes']);
    expect(mixed.planes).toEqual(PLANES);
    const empty = Buffer.concat([Buffer.from('00dc'), Buffer.alloc(4)]);
    const dropped = await read(
      await written(Buffer.concat([avi.subarray(0, fifth), empty, avi.subarray(fifth + 8 + 144_000)])),
    );
    expect(dropped.problems).toContain('dv-frame-without-sound');
    const lost = dropped.planes[0].subarray(5 * 1920, 6 * 1920);
    expect(lost.every((value) => value === -32_768)).toBe(true);
    expect(dropped.planes[0].slice(6 * 1920)).toEqual(PLANES[0].slice(6 * 1920));
  });

  test('AVI type 1 as recorders write it: one stream of both, chunks named 00__', async (context) => {
    needTool(context, 'ffmpeg');
    const avi = await readFile(await ffmpegWrap(await written(STREAM), 'avi', VIDEO_ONLY));
    avi.write('iavs', avi.indexOf('vidsdvsd'), 'latin1');
    for (let at = chunkOf(avi, 0); at >= 0; at = avi.indexOf('00dc', at + 4)) avi.write('00__', at, 'latin1');
    const result = await read(await written(avi));
    expect(result).toMatchObject({ container: 'dv-avi', problems: [], readAs: 'whole' });
    expect(result.planes).toEqual(PLANES);
  });

  test('wrappers without DV are refused by name', async (context) => {
    needTool(context, 'ffmpeg');
    const bare = await written(STREAM);
    for (const [extension, what] of [
      ['avi', 'an AVI file without DV'],
      ['mov', 'a QuickTime or MPEG-4 file without DV'],
    ] as const) {
      const path = await ffmpegWrap(bare, extension, ['-map', '0:a']);
      await expect(openAudio(path)).rejects.toThrow(what);
      expect(await isAudioPath(path)).toBe(false);
    }
  });
});

/** Byte of the chunk that holds frame f. */
function chunkOf(avi: Buffer, f: number): number {
  let at = avi.indexOf('movi') + 4;
  for (let i = 0; i < f; i++) at = avi.indexOf('00dc', at + 4);
  return avi.indexOf('00dc', at + (f > 0 ? 4 : 0)) < 0 ? -1 : at;
}
