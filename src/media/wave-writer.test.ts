// What the writer writes, judged by ffmpeg, sox, libsndfile, flac and mediainfo; and that a target appears whole or not at all.
import { execFileSync, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { mkdir, readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { blocksOf, rate } from '../base/index.ts';
import { openAudio } from './open-audio.ts';
import { isTemporaryName } from './safe-file.ts';
import { ffmpegSamples, interleaved32, ourSamples, sndfileSamples, soxSamples } from './testing/judges.ts';
import { noisePlanes } from './testing/signals.ts';
import { needTool, REPOSITORY, tempFolder } from './testing/tools.ts';
import { pcmBytes } from './testing/wave-bytes.ts';
import { type AudioFormat, createAudio } from './wave-writer.ts';

async function write(
  path: string,
  planes: readonly Int32Array[],
  format: Omit<AudioFormat, 'channels'>,
  blockFrames = 777,
) {
  const writer = await createAudio(path, { ...format, channels: planes.length });
  for (const block of blocksOf(planes, blockFrames)) await writer.write(block);
  return writer.commit();
}

describe('other readers get the same samples', () => {
  for (const container of ['auto', 'rf64'] as const) {
    for (const bits of [16, 24, 32] as const) {
      for (const channels of [1, 2, 3, 8]) {
        test(`${container}, ${bits} bits, ${channels} channels`, async (context) => {
          for (const tool of ['sox', 'ffmpeg', 'sndfile-convert']) needTool(context, tool);
          const path = join(await tempFolder(), 'master.wav');
          // an odd number of frames, so that mono 24-bit audio needs the pad byte
          const planes = noisePlanes(channels, 2001, bits);
          const written = await write(path, planes, { rate: rate(48_000), bits, container });
          expect(written).toMatchObject({ path, frames: 2001, container: container === 'auto' ? 'wave' : 'rf64' });
          const bytes = await readFile(path);
          expect(written.bytes).toBe(bytes.length);
          expect(written.digests.file.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
          expect(written.digests.audio.sha256).toBe(createHash('sha256').update(pcmBytes(planes, bits)).digest('hex'));
          const truth = interleaved32(planes, bits);
          expect(await ffmpegSamples(path)).toEqual(truth);
          expect(await soxSamples(path)).toEqual(truth);
          expect(await sndfileSamples(path)).toEqual(truth);
          const audio = await openAudio(path);
          expect(audio.info).toMatchObject({ problems: [], readAs: 'whole', bits, headerBits: bits });
          expect(await ourSamples(audio)).toEqual(truth);
          await audio.close();
        });
      }
    }
  }

  for (const [bits, validBits] of [
    [24, 20],
    [32, 24],
    [16, 12],
  ] as const) {
    test(`${validBits} valid in ${bits}: libsndfile, flac and ffmpeg agree, the header tells the claim`, async (context) => {
      for (const tool of ['sndfile-convert', 'sndfile-info', 'flac', 'metaflac', 'ffmpeg']) needTool(context, tool);
      const folder = await tempFolder();
      const path = join(folder, 'master.wav');
      const planes = noisePlanes(2, 1000, validBits).map((plane) => plane.map((v) => v << (bits - validBits)));
      await write(path, planes, { rate: rate(48_000), bits, validBits });
      const truth = interleaved32(planes, bits);
      expect(await sndfileSamples(path)).toEqual(truth);
      execFileSync('flac', ['--totally-silent', '--channel-map=none', path]);
      expect(execFileSync('metaflac', ['--show-bps', join(folder, 'master.flac')], { encoding: 'utf8' })).toBe(
        `${validBits}\n`,
      );
      expect(await ffmpegSamples(join(folder, 'master.flac'))).toEqual(truth);
      const info = execFileSync('sndfile-info', [path], { encoding: 'latin1' });
      expect(info).toMatch(new RegExp(`Bit Width\\s+: ${bits}`));
      expect(info).toMatch(new RegExp(`Valid Bits\\s+: ${validBits}`));
      const audio = await openAudio(path);
      expect(audio.info).toMatchObject({ bits, headerBits: validBits, problems: [] });
      await audio.close();
    });
  }

  test('the header: tag 1 for 16-bit stereo, otherwise extensible; no speaker positions beyond two channels', async () => {
    const folder = await tempFolder();
    const seen: (string | number)[][] = [];
    for (const [bits, channels] of [
      [16, 1],
      [16, 2],
      [16, 4],
      [24, 1],
      [24, 2],
      [24, 8],
    ] as const) {
      const path = join(folder, `${bits}-${channels}.wav`);
      await write(path, noisePlanes(channels, 10, bits), { rate: rate(44_100), bits });
      const bytes = await readFile(path);
      seen.push([
        bits,
        channels,
        bytes.toString('latin1', 12, 16),
        bytes.readUInt16LE(56),
        bytes.readUInt16LE(56) === 1 ? -1 : bytes.readUInt32LE(76),
      ]);
    }
    expect(seen).toEqual([
      [16, 1, 'JUNK', 1, -1],
      [16, 2, 'JUNK', 1, -1],
      [16, 4, 'JUNK', 0xfffe, 0],
      [24, 1, 'JUNK', 0xfffe, 4],
      [24, 2, 'JUNK', 0xfffe, 3],
      [24, 8, 'JUNK', 0xfffe, 0],
    ]);
  });

  for (const channels of [2, 8]) {
    test(`24-bit files of ${channels} channels survive FLAC with foreign metadata`, async (context) => {
      needTool(context, 'flac');
      const folder = await tempFolder();
      const path = join(folder, 'master.wav');
      await write(path, noisePlanes(channels, 5000, 24), { rate: rate(48_000), bits: 24 });
      const [packed, back] = [join(folder, 'master.flac'), join(folder, 'back.wav')];
      // flac wants to be told that channels without speaker positions are meant
      execFileSync('flac', ['--totally-silent', '--keep-foreign-metadata', '--channel-map=none', path]);
      execFileSync('flac', ['--totally-silent', '-d', '--keep-foreign-metadata', '-o', back, packed]);
      const restored = await readFile(back);
      // flac 1.4.2 puts its own guess in place of a mask of 0; every other byte comes back
      if (channels > 2) restored.writeUInt32LE(0, 76);
      expect(restored.equals(await readFile(path))).toBe(true);
    });
  }
});

test('what is written is read back, whatever channels, width and block sizes', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom(16 as const, 24 as const, 32 as const),
      fc.integer({ min: 1, max: 20 }),
      fc.integer({ min: 0, max: 2000 }),
      fc.integer({ min: 1, max: 2500 }),
      fc.boolean(),
      async (bits, channels, frames, blockFrames, isRf64) => {
        const path = join(await tempFolder(), 'out.wav');
        const planes = noisePlanes(channels, frames, bits, blockFrames);
        await write(path, planes, { rate: rate(96_000), bits, container: isRf64 ? 'rf64' : 'auto' }, blockFrames);
        const audio = await openAudio(path);
        expect(audio.info.frames).toBe(frames);
        expect(await ourSamples(audio, 313)).toEqual(interleaved32(planes, bits));
        await audio.close();
      },
    ),
    { numRuns: 40 },
  );
});

test('a rate that is no whole number of hertz is rounded in the header', async () => {
  const path = join(await tempFolder(), 'out.wav');
  await write(path, noisePlanes(1, 10, 16), { rate: rate(4_500_000, 143), bits: 16 });
  const audio = await openAudio(path);
  expect(audio.info.rate).toEqual(rate(31_469));
  await audio.close();
});

describe('refusals', () => {
  test('a sample outside the width, the wrong number of channels, an impossible format', async () => {
    const folder = await tempFolder();
    const path = join(folder, 'out.wav');
    const writer = await createAudio(path, { channels: 2, rate: rate(48_000), bits: 16 });
    const planes = [new Int32Array(10), new Int32Array(10)];
    await writer.write({ start: 0, frames: 10, planes });
    planes[1][3] = 32_768;
    const error = await writer.write({ start: 10, frames: 10, planes }).catch((caught) => caught);
    expect(error).toMatchObject({ kind: 'input', detail: { path, expected: '16 bits', found: '32768' } });
    expect(error.message).toContain('frame 13, channel 2');
    await expect(writer.write({ start: 0, frames: 10, planes: [planes[0]] })).rejects.toMatchObject({ kind: 'input' });
    await writer.abort();
    expect(await readdir(folder)).toEqual([]);
    await expect(createAudio(path, { channels: 0, rate: rate(48_000), bits: 16 })).rejects.toMatchObject({
      kind: 'unsupported',
    });
    await expect(createAudio(path, { channels: 40_000, rate: rate(48_000), bits: 16 })).rejects.toMatchObject({
      kind: 'unsupported',
    });
    await expect(createAudio(path, { channels: 1, rate: rate(48_000), bits: 16, validBits: 17 })).rejects.toMatchObject(
      { kind: 'unsupported' },
    );
    await expect(
      createAudio(join(folder, 'no/such/out.wav'), { channels: 1, rate: rate(48_000), bits: 16 }),
    ).rejects.toMatchObject({ kind: 'io' });
  });

  test('a temporary file that was changed on the disk is never given the name', async () => {
    const folder = await tempFolder();
    const path = join(folder, 'out.wav');
    await writeFile(path, 'old');
    const writer = await createAudio(path, { channels: 1, rate: rate(48_000), bits: 16 });
    await writer.write({ start: 0, frames: 1000, planes: noisePlanes(1, 1000, 16) });
    const part = (await readdir(folder)).find(isTemporaryName)!;
    const bytes = await readFile(join(folder, part));
    bytes[bytes.length - 1] ^= 1;
    await writeFile(join(folder, part), bytes);
    await expect(writer.commit()).rejects.toMatchObject({ kind: 'io', message: /differs from what was written/ });
    expect(await readdir(folder)).toEqual(['out.wav']);
    expect(await readFile(path, 'utf8')).toBe('old');
  });
});

describe('killed while writing', () => {
  const program = (path: string) => `
    import { createAudio } from '${REPOSITORY}/src/media/index.ts';
    const writer = await createAudio(${JSON.stringify(path)}, { channels: 2, rate: { num: 48000, den: 1 }, bits: 24 });
    const planes = [new Int32Array(48000), new Int32Array(48000)];
    for (let start = 0; ; start += 48000) {
      await writer.write({ start, frames: 48000, planes });
      if (start === 480000) console.log('writing');
    }`;

  for (const before of ['something old', undefined]) {
    test(before ? 'the old content stays' : 'no target appears', async () => {
      const folder = join(await tempFolder(), 'out');
      await mkdir(folder);
      const path = join(folder, 'master.wav');
      if (before) await writeFile(path, before);
      const child = spawn(process.execPath, ['--input-type=module', '-e', program(path)], {
        stdio: ['ignore', 'pipe', 'inherit'],
      });
      await once(child.stdout, 'data');
      child.kill('SIGKILL');
      await once(child, 'exit');
      const names = await readdir(folder);
      expect(names.filter((name) => !isTemporaryName(name))).toEqual(before ? ['master.wav'] : []);
      expect(names.filter(isTemporaryName)).toEqual([expect.stringContaining(`.master.wav.tapeproof-${child.pid}-`)]);
      if (before) expect(await readFile(path, 'utf8')).toBe(before);
    });
  }
});
