// Files past 4 GiB, sparse so that they cost no room: the writer turns to RF64 by itself and four independent readers agree.
import { execFileSync } from 'node:child_process';
import { open, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { rate } from '../base/index.ts';
import { openAudio } from './open-audio.ts';
import { w64, w64Chunk } from './testing/iff-bytes.ts';
import { needTool, tempFolder } from './testing/tools.ts';
import { ds64, formatChunk, riff } from './testing/wave-bytes.ts';
import { needsRf64, waveHeaderBytes } from './wave-header.ts';
import { WaveWriter } from './wave-writer.ts';

const LAST = [Int32Array.of(-8_388_608, 1), Int32Array.of(2, 8_388_607)];

test('RF64 by itself past 4 GiB, read alike by sndfile-info, ffprobe, soxi and mediainfo', async (context) => {
  for (const tool of ['sndfile-info', 'ffprobe', 'soxi', 'mediainfo']) needTool(context, tool);
  const path = join(await tempFolder(), 'master.wav');
  // After the audio soxi looks for more chunks, but at the size modulo 2^32, near the beginning: in silence it would walk
  // through the whole file in steps of eight bytes. Samples of -1 read as a chunk that reaches past the end.
  const ones = [new Int32Array(1000).fill(-1), new Int32Array(1000).fill(-1)];
  const silence = 715_827_000;
  const frames = 1000 + silence + 2;
  const writer = await WaveWriter.create(path, { channels: 2, rate: rate(48_000), bits: 24 });
  await writer.write({ start: 0, frames: 1000, planes: ones });
  await writer.extendWithSilence(silence);
  await writer.write({ start: 1000 + silence, frames: 2, planes: LAST });
  const written = await writer.commit();
  expect(written).toMatchObject({ container: 'rf64', frames, bytes: 104 + frames * 6 });
  // A hole, not zeros on the disk: the room taken is what two frames and a header need.
  expect((await stat(path)).blocks).toBeLessThan(1000);
  const ask = (tool: string, ...options: string[]) => execFileSync(tool, [...options, path], { encoding: 'latin1' });
  expect(ask('sndfile-info')).toMatch(new RegExp(`Frames\\s*: ${frames}\n`));
  expect(ask('ffprobe', '-v', 'error', '-show_entries', 'stream=duration_ts', '-of', 'csv=p=0').trim()).toBe(
    `${frames}`,
  );
  expect(ask('soxi', '-s').trim()).toBe(`${frames}`);
  expect(ask('mediainfo', '--Output=Audio;%SamplingCount%').trim()).toBe(`${frames}`);
  const audio = await openAudio(path);
  expect(audio.info).toMatchObject({ container: 'rf64', frames, problems: [], readAs: 'whole' });
  expect((await audio.read(frames - 3, 10)).planes).toEqual(LAST.map(([a, b]) => Int32Array.of(0, a, b)));
  await audio.close();
});

test('the change to RF64 comes exactly where 32 bits end', () => {
  const shape = { channels: 1, rateHz: 48_000, bits: 16, validBits: 16 } as const;
  const most = 0xfffffffe - (waveHeaderBytes(shape) - 8);
  expect(needsRf64(shape, most)).toBe(false);
  expect(needsRf64(shape, most + 2)).toBe(true);
});

test.each([
  { name: 'both sizes 0xFFFFFFFF', size: 0xffffffff },
  { name: 'sizes wrapped round at 4 GiB', size: 36 + 2400 },
])('a plain RIFF past 4 GiB with $name is read to its end', async ({ size }) => {
  const path = join(await tempFolder(), 'capture.wav');
  const dataBytes = 2 ** 32 + 2400;
  const head = riff([formatChunk(), Buffer.from('data'), Buffer.alloc(4)], { size });
  head.writeUInt32LE(size === 0xffffffff ? size : 2400, 40);
  const file = await open(path, 'w');
  await file.write(head);
  await file.truncate(44 + dataBytes);
  await file.write(Buffer.from([1, 0, 2, 0]), 0, 4, 44 + dataBytes - 4);
  await file.close();
  const audio = await openAudio(path);
  expect(audio.info.frames).toBe(dataBytes / 4);
  expect(audio.info.problems.map(({ id }) => id)).toContain('size-recovered');
  expect((await audio.read(audio.info.frames - 1, 1)).planes).toEqual([Int32Array.of(1), Int32Array.of(2)]);
  await audio.close();
});

const PLAIN_DATA = 2 ** 32 + 4800;

test.for([
  { name: 'BW64', judge: 'ffprobe' },
  { name: 'W64', judge: 'sndfile-info' },
])('$name past 4 GiB, its last frame and its length by $judge', async ({ name, judge }, context) => {
  const path = join(await tempFolder(), 'capture');
  const frames = PLAIN_DATA / 4;
  const head =
    name === 'BW64'
      ? bw64Head()
      : w64(formatChunk(), [w64Chunk('data', Buffer.alloc(0), PLAIN_DATA + 24)], 104 + PLAIN_DATA);
  const file = await open(path, 'w');
  await file.write(head);
  await file.truncate(head.length + PLAIN_DATA);
  await file.write(Buffer.from([1, 0, 2, 0]), 0, 4, head.length + PLAIN_DATA - 4);
  await file.close();
  const audio = await openAudio(path);
  expect(audio.info).toMatchObject({ container: name.toLowerCase(), frames, problems: [], readAs: 'whole' });
  expect((await audio.read(frames - 1, 1)).planes).toEqual([Int32Array.of(1), Int32Array.of(2)]);
  await audio.close();
  const ask = (...options: string[]) =>
    execFileSync(needTool(context, judge), [...options, path], { encoding: 'latin1' });
  const told =
    judge === 'ffprobe'
      ? ask('-v', 'error', '-show_entries', 'stream=duration_ts', '-of', 'csv=p=0').trim()
      : /^Frames\s*: (\d+)/m.exec(ask())?.[1];
  expect(told).toBe(`${frames}`);
});

function bw64Head(): Buffer {
  const sizes = ds64(72 + PLAIN_DATA, PLAIN_DATA, PLAIN_DATA / 4);
  const data = Buffer.concat([Buffer.from('data'), Buffer.alloc(4, 255)]);
  return riff([sizes, formatChunk(), data], { id: 'BW64', size: 0xffffffff });
}
