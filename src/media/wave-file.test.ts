// Reading WAVE against independent writers and readers, by position, in blocks of any length, and the digests of a pass.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { appendFile, truncate, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Block, TapeproofError } from '../base/index.ts';
import { openAudio } from './open-audio.ts';
import { ffmpegSamples, interleaved32, ourSamples, sndfileSamples, soxSamples } from './testing/judges.ts';
import { needMusic } from './testing/music.ts';
import { noisePlanes } from './testing/signals.ts';
import { needTool, tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from './testing/wave-bytes.ts';

async function waveOf(planes: readonly Int32Array[], bits: number): Promise<{ path: string; bytes: Buffer }> {
  const path = join(await tempFolder(), 'capture.wav');
  const format = formatChunk({ channels: planes.length, bits });
  const bytes = riff([
    chunk('JUNK', Buffer.alloc(28)),
    format,
    chunk('data', pcmBytes(planes, bits)),
    chunk('LIST', Buffer.from('INFO')),
  ]);
  await writeFile(path, bytes);
  return { path, bytes };
}

describe('files that sox and ffmpeg wrote from a real recording', () => {
  for (const bits of [8, 16, 24, 32]) {
    test(`sox, ${bits} bits`, async (context) => {
      const path = join(await tempFolder(), 'sox.wav');
      execFileSync(needTool(context, 'sox'), [
        '-D',
        await needMusic(context, 'viola'),
        '-b',
        `${bits}`,
        path,
        'trim',
        '0',
        '1',
      ]);
      const audio = await openAudio(path);
      expect(audio.info).toMatchObject({ bits, channels: 1, frames: 44_100, problems: [], readAs: 'whole' });
      const ours = await ourSamples(audio);
      expect(ours).toEqual(await soxSamples(path));
      expect(ours).toEqual(await sndfileSamples(path));
      await audio.close();
    });
  }

  for (const [codec, extra] of [
    ['pcm_u8', []],
    ['pcm_s16le', []],
    ['pcm_s24le', []],
    ['pcm_s32le', []],
    ['pcm_s24le', ['-rf64', 'always']],
  ] as const) {
    test(`ffmpeg, ${codec} ${extra.join(' ')}`, async (context) => {
      const path = join(await tempFolder(), 'ffmpeg.wav');
      const source = await needMusic(context, 'guitar');
      execFileSync(needTool(context, 'ffmpeg'), [
        '-v',
        'error',
        '-i',
        source,
        '-t',
        '1',
        '-c:a',
        codec,
        ...extra,
        path,
      ]);
      const audio = await openAudio(path);
      expect(audio.info).toMatchObject({
        channels: 2,
        frames: 44_100,
        problems: [],
        container: extra.length ? 'rf64' : 'wave',
      });
      expect(await ourSamples(audio)).toEqual(await ffmpegSamples(path));
      await audio.close();
    });
  }

  test('a stream whose header was never finished (ffmpeg and sox to a pipe)', async (context) => {
    const source = await needMusic(context, 'guitar');
    const folder = await tempFolder();
    const sizes = { maxBuffer: 2 ** 28, stdio: ['ignore', 'pipe', 'ignore'] as ['ignore', 'pipe', 'ignore'] };
    const piped = [
      execFileSync(needTool(context, 'ffmpeg'), ['-i', source, '-f', 'wav', '-'], sizes),
      execFileSync(needTool(context, 'sox'), ['-D', source, '-t', 'wav', '-'], sizes),
    ];
    for (const [i, bytes] of piped.entries()) {
      const path = join(folder, `${i}.wav`);
      await writeFile(path, bytes);
      const audio = await openAudio(path);
      expect(audio.info.frames).toBe(885_892);
      await audio.close();
    }
  });

  test('bext as ffmpeg writes it', async (context) => {
    const path = join(await tempFolder(), 'bext.wav');
    const fields = {
      description: 'side A',
      originator: 'bench-2',
      originator_reference: 'REF-7',
      origination_date: '1994-03-02',
      origination_time: '10:11:12',
      time_reference: '172800000',
      coding_history: 'A=PCM,F=48000,W=16,M=stereo',
    };
    const metadata = Object.entries(fields).flatMap(([key, value]) => ['-metadata', `${key}=${value}`]);
    execFileSync(needTool(context, 'ffmpeg'), [
      '-v',
      'error',
      '-f',
      'lavfi',
      '-i',
      'sine=d=0.1',
      '-write_bext',
      '1',
      ...metadata,
      path,
    ]);
    const audio = await openAudio(path);
    expect(audio.info.bext).toEqual({
      description: 'side A',
      originator: 'bench-2',
      originatorReference: 'REF-7',
      originationDate: '1994-03-02',
      originationTime: '10:11:12',
      timeReference: 172_800_000,
      version: 1,
      codingHistory: 'A=PCM,F=48000,W=16,M=stereo',
    });
    await audio.close();
  });
});

describe('access', () => {
  test('any block size and any position give the same samples', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(8, 16, 24, 32),
        fc.integer({ min: 1, max: 9 }),
        fc.integer({ min: 0, max: 3000 }),
        fc.integer({ min: 1, max: 4000 }),
        fc.array(fc.tuple(fc.integer({ min: -10, max: 3100 }), fc.integer({ min: 0, max: 500 })), { maxLength: 5 }),
        async (bits, channels, frames, blockFrames, reads) => {
          const planes = noisePlanes(channels, frames, bits, frames + 1);
          const { path } = await waveOf(planes, bits);
          const audio = await openAudio(path);
          expect(await ourSamples(audio, blockFrames)).toEqual(interleaved32(planes, bits));
          for (const [start, count] of reads) {
            const block = await audio.read(start, count);
            const from = Math.min(Math.max(0, start), frames);
            expect(block.start).toBe(from);
            expect(block.planes).toEqual(planes.map((plane) => plane.slice(from, Math.max(from, start + count))));
          }
          await audio.close();
        },
      ),
      { numRuns: 60 },
    );
  });

  test('blocks can begin anywhere and stop on request', async () => {
    const planes = noisePlanes(2, 10_000, 16);
    const audio = await openAudio((await waveOf(planes, 16)).path);
    const starts: number[] = [];
    for await (const block of audio.blocks({ start: 9000, blockFrames: 400 })) starts.push(block.start);
    expect(starts).toEqual([9000, 9400, 9800]);
    const stop = { aborted: true };
    const run = async () => {
      for await (const _ of audio.blocks({ stop })) void _;
    };
    await expect(run()).rejects.toMatchObject({ kind: 'cancelled' });
    await audio.close();
  });

  test('reads at the same time do not disturb each other', async () => {
    const planes = noisePlanes(3, 50_000, 24);
    const audio = await openAudio((await waveOf(planes, 24)).path);
    const starts = Array.from({ length: 40 }, (_, i) => (i * 7919) % 49_000);
    const blocks = await Promise.all(starts.map((start) => audio.read(start, 64)));
    expect(blocks.map(({ planes: [first] }) => first)).toEqual(
      starts.map((start) => planes[0].slice(start, start + 64)),
    );
    await audio.close();
  });
});

describe('a pass', () => {
  test('digests are those of the file and of the data chunk; every block is there', async () => {
    const planes = noisePlanes(5, 7001, 24);
    const { path, bytes } = await waveOf(planes, 24);
    const audio = await openAudio(path);
    const seen: [number, number][] = [];
    const pass = audio.pass({ blockFrames: 999, onBytes: (done, total) => seen.push([done, total]) });
    expect(() => pass.digests()).toThrow(/only after the last block/);
    const frames: number[] = [];
    for await (const block of pass.blocks) frames.push(block.frames);
    expect(frames).toEqual([...Array(7).fill(999), 8]);
    const sha = (part: Uint8Array) => createHash('sha256').update(part).digest('hex');
    expect(pass.digests()).toEqual({ file: { sha256: sha(bytes) }, audio: { sha256: sha(pcmBytes(planes, 24)) } });
    expect(seen.at(-1)).toEqual([bytes.length, bytes.length]);
    await audio.close();
  });

  test('a file that grows or shrinks under the reader', async () => {
    const { path, bytes } = await waveOf(noisePlanes(2, 200_000, 16), 16);
    const audio = await openAudio(path);
    await appendFile(path, Buffer.alloc(100));
    const pass = audio.pass();
    for await (const _ of pass.blocks) void _;
    expect(pass.digests().file.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
    await truncate(path, 1000);
    const blocks: Block[] = [];
    const run = async () => {
      for await (const block of audio.blocks()) blocks.push(block);
    };
    await expect(run()).rejects.toMatchObject({ kind: 'io', detail: { path } });
    await audio.close();
  });
});

test('random changes of bytes never lead to anything but our errors', async () => {
  const { path, bytes } = await waveOf(noisePlanes(2, 300, 16), 16);
  await fc.assert(
    fc.asyncProperty(
      fc.array(fc.tuple(fc.integer({ min: 0, max: 120 }), fc.integer({ min: 0, max: 255 })), {
        minLength: 1,
        maxLength: 8,
      }),
      fc.integer({ min: 0, max: bytes.length }),
      async (changes, cut) => {
        const broken = Buffer.from(bytes.subarray(0, cut > bytes.length / 2 ? bytes.length : cut * 2));
        for (const [at, value] of changes) if (at < broken.length) broken[at] = value;
        await writeFile(path, broken);
        const audio = await openAudio(path).catch((error: unknown) => {
          expect(error).toBeInstanceOf(TapeproofError);
        });
        if (!audio) return;
        let frames = 0;
        for await (const block of audio.pass().blocks) frames += block.frames;
        expect(frames).toBe(audio.info.frames);
        await audio.close();
      },
    ),
    { numRuns: 400 },
  );
});
