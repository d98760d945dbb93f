// Data of several kinds must never be called sound (trade.md B 42: none of ten data files may reach the monitor), and no real recording, no
// loud or noisy music, may be called data.

import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { memorySource, rate } from '../../base/index.ts';
import { loadMusic, needMusic, REAL_MUSIC } from '../../media/testing/music.ts';
import { needTool, REPOSITORY, tempFolder } from '../../media/testing/tools.ts';
import { Random } from '../../signal/index.ts';
import { examineSource } from '../pass.ts';
import { nonAudio } from './non-audio.ts';

async function answersOf(planes: readonly Int32Array[], bits = 16) {
  const source = memorySource(planes, { name: 'test', rate: rate(48_000), bits });
  return (await examineSource(source, [nonAudio])).verdicts.map(({ answer }) => answer);
}

/** Bytes as 16-bit little-endian words, in turn for each channel, as a raw file read as PCM. */
function asPcm(bytes: Uint8Array, channels = 2): Int32Array[] {
  const frames = Math.floor(bytes.length / 2 / channels);
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  return Array.from({ length: channels }, (_, c) =>
    Int32Array.from({ length: frames }, (_, i) => view.getInt16(2 * (i * channels + c), true)),
  );
}

/** Bytes that no formula relates to our own generator. */
function digestBytes(length: number): Uint8Array {
  const parts: Uint8Array[] = [];
  for (let n = 0; n * 64 < length; n++) parts.push(createHash('sha512').update(`data ${n}`).digest());
  return Buffer.concat(parts).subarray(0, length);
}

/** IEC 61937: Pa Pb Pc Pd, payload, zeros up to the repetition period of 1536 frames (AC-3). */
function burstStream(bursts: number, payloadBytes: number, swapped = false): Int32Array[] {
  const words = new Int16Array(bursts * 1536 * 2);
  const payload = digestBytes(payloadBytes * bursts);
  for (let n = 0; n < bursts; n++) {
    const at = n * 1536 * 2;
    words.set([0xf872, 0x4e1f, 0x0001, payloadBytes * 8], at);
    for (let i = 0; i < payloadBytes / 2; i++) {
      words[at + 4 + i] = (payload[n * payloadBytes + 2 * i] << 8) | payload[n * payloadBytes + 2 * i + 1];
    }
  }
  const bytes = Buffer.from(words.buffer);
  return asPcm(swapped ? bytes.swap16() : bytes);
}

describe('data', () => {
  it.each([0.05, 0.3, 3])('evenly spread bytes, %f s', async (seconds) => {
    expect(await answersOf(asPcm(digestBytes(seconds * 48_000 * 4)))).toEqual([false, false]);
  });

  it('a compressed file, one channel and two', async () => {
    const packed = gzipSync(readFileSync(join(REPOSITORY, 'package-lock.json')));
    expect(await answersOf(asPcm(packed))).toEqual([false, false]);
    expect(await answersOf(asPcm(packed, 1))).toEqual([false]);
  });

  it('FLAC and MP3 files read as PCM', async (context) => {
    const sox = needTool(context, 'sox');
    const music = await needMusic(context, 'guitar');
    const flac = join(await tempFolder(), 'guitar.flac');
    execFileSync(sox, [music, flac]);
    expect(await answersOf(asPcm(readFileSync(flac)))).toEqual([false, false]);
    const ffmpeg = needTool(context, 'ffmpeg');
    for (const kind of ['ac3', 'mp2', 'ogg']) {
      const coded = join(await tempFolder(), `guitar.${kind}`);
      execFileSync(ffmpeg, ['-v', 'error', '-i', music, coded]);
      expect(await answersOf(asPcm(readFileSync(coded))), kind).toEqual([false, false]);
    }
  });

  it("ffmpeg's own IEC 61937 stream of AC-3", async (context) => {
    const ffmpeg = needTool(context, 'ffmpeg');
    const file = join(await tempFolder(), 'burst.spdif');
    const music = await needMusic(context, 'guitar');
    execFileSync(ffmpeg, ['-v', 'error', '-i', music, '-ar', '48000', '-c:a', 'ac3', '-f', 'spdif', file]);
    expect(await answersOf(asPcm(readFileSync(file)))).toEqual([false, false]);
  });

  it.each([
    ['small bursts', burstStream(20, 768)],
    ['large bursts', burstStream(20, 5000)],
    ['bytes swapped', burstStream(20, 768, true)],
  ])('%s of coded audio', async (_, planes) => {
    expect(await answersOf(planes)).toEqual([false, false]);
    const wide = planes.map((plane) => plane.map((x) => x * 256));
    expect(await answersOf(wide, 24)).toEqual([false, false]);
  });

  it('text and programs are not called sound', async () => {
    const files = ['package-lock.json', 'src/examine/pass.ts', 'node_modules/typescript/package.json'];
    for (const file of files) {
      const answers = await answersOf(asPcm(readFileSync(join(REPOSITORY, file))));
      for (const answer of answers) expect(answer, file).not.toBe(true);
    }
    for (const answer of await answersOf(asPcm(readFileSync('/bin/sh')))) expect(answer).not.toBe(true);
  });

  it('the low byte of a 24-bit word on a track of its own (formats.md 7)', async () => {
    const low = Int32Array.from(digestBytes(48_000), (byte) => (byte << 24) >> 16);
    expect(await answersOf([low])).toEqual([false]);
  });

  it('a second of data within ten of music', async (context) => {
    const { planes } = await loadMusic(await needMusic(context, 'guitar'));
    const mixed = planes.map((plane) => plane.slice(0, 441_000));
    for (const [c, data] of asPcm(digestBytes(44_100 * 4)).entries()) mixed[c].set(data, 200_000);
    expect(await answersOf(mixed)).toEqual([false, false]);
  });
});

describe('sound', () => {
  it.for(REAL_MUSIC.map(({ name }) => name))('%s', async (name, context) => {
    const { planes, bits } = await loadMusic(await needMusic(context, name));
    for (const answer of await answersOf(planes, bits)) expect(answer).toBe(true);
    const full = 2 ** (bits - 1);
    const driven = planes.map((plane) => plane.map((x) => Math.max(-full, Math.min(full - 1, x * 12))));
    for (const answer of await answersOf(driven, bits)) expect(answer, 'driven hard into clipping').toBe(true);
    const thin = planes.map((plane) =>
      plane.map((x, i) => Math.max(-full, Math.min(full - 1, 4 * (x - (plane[i - 1] ?? 0))))),
    );
    for (const answer of await answersOf(thin, bits)) expect(answer, 'without its low half').not.toBe(false);
  });

  const random = new Random(5);
  it.each([
    ['bell-shaped white noise', Int32Array.from({ length: 96_000 }, () => Math.round(random.gaussian() * 6000)), true],
    [
      'the same, clipped',
      Int32Array.from({ length: 96_000 }, () =>
        Math.max(-32_768, Math.min(32_767, Math.round(random.gaussian() * 14_000))),
      ),
      true,
    ],
    ['a sine at full scale', Int32Array.from({ length: 96_000 }, (_, i) => Math.round(32_767 * Math.sin(i / 9))), true],
    ['a fast saw', Int32Array.from({ length: 96_000 }, (_, i) => ((i * 24_281) % 65_536) - 32_768), true],
    ['a square wave', Int32Array.from({ length: 96_000 }, (_, i) => (i % 50 < 25 ? 32_767 : -32_768)), true],
    [
      'eight bits written twice',
      Int32Array.from({ length: 96_000 }, (_, i) => 257 * Math.round(120 * Math.sin(i / 20))),
      true,
    ],
    ['converter noise', Int32Array.from({ length: 96_000 }, () => Math.round(random.gaussian() * 2)), true],
    ['silence', new Int32Array(96_000), 'cannot tell'],
  ])('%s', async (_, plane, answer) => {
    expect(await answersOf([plane, plane])).toEqual([answer, answer]);
  });
});
