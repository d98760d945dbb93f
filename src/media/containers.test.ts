// W64, AIFF, AIFC, CAF, raw and float samples: what independent programs wrote is read alike, what we make bit by bit is read
// exactly, the digest of the same samples is the same in every container, and what cannot be proven is refused by name.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { describeError, TapeproofError } from '../base/index.ts';
import type { AudioFile } from './audio-file.ts';
import { formatRawSpec, type OpenOptions, openAudio, parseRawSpec } from './index.ts';
import { openRaw } from './raw-file.ts';
import {
  bigEndianBytes,
  caf,
  cafData,
  commonChunk,
  descriptionChunk,
  float80Of,
  form,
  soundChunk,
} from './testing/iff-bytes.ts';
import { ffmpegSamples, interleaved32, ourSamples, sndfileSamples, soxSamples } from './testing/judges.ts';
import { CONTAINER_FILES, REFUSED_CONTAINERS } from './testing/malformed-containers.ts';
import { needMusic } from './testing/music.ts';
import { noisePlanes } from './testing/signals.ts';
import { needTool, tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from './testing/wave-bytes.ts';

const PLANES = noisePlanes(2, 4800, 16);
const PLANES24 = noisePlanes(2, 4800, 24);
const BIG = bigEndianBytes(PLANES, 16);
const LITTLE = pcmBytes(PLANES, 16);

async function written(bytes: Uint8Array): Promise<string> {
  const path = join(await tempFolder(), 'capture');
  await writeFile(path, bytes);
  return path;
}

/** Reads everything and closes: samples, digest of the audio, ids of the problems after the pass. */
async function readAll(path: string, options: OpenOptions = {}) {
  return finish(await openAudio(path, options));
}

async function finish(audio: AudioFile) {
  try {
    const pass = audio.pass({ blockFrames: 777 });
    for await (const _ of pass.blocks) void _;
    const ids = pass.problems().map(({ id }) => id);
    return { info: audio.info, samples: await ourSamples(audio), audio: pass.digests().audio.sha256, ids };
  } finally {
    await audio.close();
  }
}

const sha = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');

describe('what sox, ffmpeg and libsndfile write from a real recording', () => {
  for (const [extension, options] of [
    ['aiff', ['-b', '16']],
    ['aiff', ['-b', '24']],
    ['aiff', ['-b', '32']],
    ['aiff', ['-b', '8']],
    ['aifc', ['-b', '24']],
    ['caf', ['-b', '16']],
    ['caf', ['-b', '24', '-L']],
    ['caf', ['-b', '24', '-B']],
    ['caf', ['-b', '32']],
    ['w64', ['-b', '16']],
    ['w64', ['-b', '24']],
  ] as const) {
    test(`sox: ${extension} ${options.join(' ')}`, async (context) => {
      const path = join(await tempFolder(), `sox.${extension}`);
      const source = await needMusic(context, 'guitar');
      execFileSync(needTool(context, 'sox'), ['-D', source, ...options, path, 'trim', '0', '1']);
      const { info, samples, ids } = await readAll(path);
      expect(info).toMatchObject({ channels: 2, frames: 44_100, readAs: 'whole', bits: Number(options[1]) });
      expect(ids).toEqual([]);
      expect(samples).toEqual(await soxSamples(path));
      expect(samples).toEqual(await sndfileSamples(path));
    });
  }

  for (const [name, codec] of [
    ['a.aif', 'pcm_s16be'],
    ['a.aif', 'pcm_s24be'],
    ['sowt.aif', 'pcm_s16le'],
    ['a.caf', 'pcm_s16le'],
    ['a.caf', 'pcm_s24be'],
    ['a.caf', 'pcm_s8'],
    ['a.w64', 'pcm_s32le'],
  ] as const) {
    test(`ffmpeg: ${name} ${codec}`, async (context) => {
      const path = join(await tempFolder(), name);
      const source = await needMusic(context, 'guitar');
      execFileSync(needTool(context, 'ffmpeg'), ['-v', 'error', '-i', source, '-t', '1', '-c:a', codec, path]);
      const { info, samples, ids } = await readAll(path);
      expect(info).toMatchObject({ channels: 2, frames: 44_100, readAs: 'whole' });
      expect(ids).toEqual([]);
      expect(samples).toEqual(await ffmpegSamples(path));
    });
  }

  test('ffmpeg to a pipe leaves sizes open in CAF and W64', async (context) => {
    const source = await needMusic(context, 'guitar');
    const ffmpeg = needTool(context, 'ffmpeg');
    for (const [format, problem] of [
      ['caf', 'size-open'],
      ['w64', 'size-recovered'],
    ]) {
      const options = ['-v', 'error', '-i', source, '-t', '1', '-c:a', 'pcm_s16le', '-f', format, '-'];
      const { info, ids } = await readAll(await written(execFileSync(ffmpeg, options, { maxBuffer: 2 ** 28 })));
      expect(info.frames).toBe(44_100);
      expect(ids).toContain(problem);
    }
  });
});

const HALF = LITTLE.length / 2;

describe('files made byte by byte', () => {
  test.each(CONTAINER_FILES)(
    '$name',
    async ({ bytes, problems = [], frames = 4800, readAs = 'whole', takeTrailing }) => {
      const { info, samples, audio, ids } = await readAll(await written(bytes), { takeTrailing });
      expect(ids.sort()).toEqual([...problems].sort());
      expect(info).toMatchObject({ frames, channels: 2, bits: 16, readAs, rate: { num: 48_000, den: 1 } });
      const truth = PLANES.map((plane) => plane.subarray(0, frames));
      expect(samples).toEqual(interleaved32(truth, 16));
      expect(audio).toBe(sha(pcmBytes(truth, 16)));
    },
  );

  test('what takeTrailing takes is told in frames', async () => {
    const path = await written(riff([formatChunk(), chunk('data', LITTLE, { size: HALF })]));
    const { info } = await readAll(path, { takeTrailing: true });
    const taken = info.problems.find(({ id }) => id === 'trailing-taken');
    expect(taken).toMatchObject({ severity: 'warning', offset: 44 + HALF });
    expect(taken?.message).toContain('2400 frames');
  });

  test('fractions of a hertz in AIFF and CAF', async () => {
    for (const [num, den] of [
      [44_100, 1],
      [4_500_000, 143],
      [6_300_000, 143],
      [48_000_000, 1001],
    ] as const) {
      const path = await written(caf([descriptionChunk({ rateHz: num / den }), cafData(BIG)]));
      expect((await readAll(path)).info.rate).toEqual({ num, den });
    }
    const rate = float80Of(192_000);
    const path = await written(form([commonChunk({ rate }), soundChunk(BIG)]));
    expect((await readAll(path)).info.rate).toEqual({ num: 192_000, den: 1 });
  });
});

describe('where padded samples stand', () => {
  const valid20 = noisePlanes(2, 4800, 20);
  const left24 = PLANES24.map((plane) => plane.map((sample) => sample << 8));
  const left20 = valid20.map((plane) => plane.map((sample) => sample << 4));
  const zeroExtended = pcmBytes(PLANES24, 32).map((byte, i) => (i % 4 === 3 ? 0 : byte));
  const extensible = (bits: number, validBits: number) => formatChunk({ tag: 0xfffe, bits, validBits });
  const wide = formatChunk({ bits: 24, blockAlign: 8 });
  const right = ['right-justified'];
  test.each([
    { name: '24 in 32, extensible, left', format: extensible(32, 24), data: pcmBytes(left24, 32), side: 'left' },
    {
      name: '24 in 32, extensible, right',
      format: extensible(32, 24),
      data: pcmBytes(PLANES24, 32),
      side: 'right',
      right,
    },
    {
      name: '24 in 32, right, not sign-extended',
      format: extensible(32, 24),
      data: zeroExtended,
      side: 'right',
      right,
    },
    {
      name: '24 in 32, tag 1, left',
      format: wide,
      data: pcmBytes(left24, 32),
      side: 'left',
      right: ['container-wider'],
    },
    {
      name: '24 in 32, tag 1, right',
      format: wide,
      data: pcmBytes(PLANES24, 32),
      side: 'right',
      right: ['container-wider', ...right],
    },
    { name: '20 in 24, extensible, left', format: extensible(24, 20), data: pcmBytes(left20, 24), side: 'left' },
    {
      name: '20 in 24, extensible, right',
      format: extensible(24, 20),
      data: pcmBytes(valid20, 24),
      side: 'right',
      right,
    },
  ])('$name', async ({ name, format, data, side, right: problems = [] }) => {
    const { info, samples, ids } = await readAll(await written(riff([format, chunk('data', data)])));
    const validBits = name.startsWith('20') ? 20 : 24;
    expect(ids).toEqual(problems);
    const container = name.startsWith('20') ? 24 : 32;
    const bits = side === 'right' ? validBits : container;
    expect(info).toMatchObject({ justification: side, bits, headerBits: validBits, encoding: `s${container}le` });
    expect(samples).toEqual(interleaved32(validBits === 20 ? valid20 : PLANES24, validBits));
  });

  test('right-justified samples have the digest of a plain file of the same samples', async () => {
    const { audio } = await readAll(await written(riff([extensible(32, 24), chunk('data', pcmBytes(PLANES24, 32))])));
    expect(audio).toBe(sha(pcmBytes(PLANES24, 24)));
  });

  test('bits in use that the five places looked at do not show', async () => {
    const long = noisePlanes(1, 200_000, 24).map((plane) => plane.map((sample) => sample << 8));
    long[0][30_000] |= 1;
    const format = formatChunk({ tag: 0xfffe, channels: 1, bits: 32, validBits: 24 });
    const { info, ids } = await readAll(await written(riff([format, chunk('data', pcmBytes(long, 32))])));
    expect(info.problems).toEqual([]);
    expect(ids).toEqual(['padding-not-zero']);
    // Right-justified but for one sample: it is not claimed.
    const right = noisePlanes(1, 200_000, 24);
    right[0][30_000] = 2 ** 30 + 1;
    const other = await readAll(await written(riff([format, chunk('data', pcmBytes(right, 32))])));
    expect(other.info).toMatchObject({ justification: 'undecided', bits: 32 });
    expect(other.samples).toEqual(right[0]);
  });

  test('silence and whispers fit both ways', async () => {
    const silence = [new Int32Array(100), new Int32Array(100)];
    const whisper = [Int32Array.from({ length: 100 }, (_, i) => (i % 7) << 8), new Int32Array(100)];
    for (const [planes, format, ids] of [
      [silence, wide, ['container-wider']],
      [whisper, wide, ['container-wider', 'justification-unclear']],
      [whisper, extensible(32, 24), []],
    ] as const) {
      const read = await readAll(await written(riff([format, chunk('data', pcmBytes(planes, 32))])));
      expect(read.info).toMatchObject({ justification: 'undecided', bits: 32 });
      expect(read.ids).toEqual(ids);
    }
  });
});

describe('float samples', () => {
  const floats = (planes: readonly Int32Array[], bits: number, width: 32 | 64) => {
    const out = Buffer.alloc((planes.length * planes[0].length * width) / 8);
    for (const [c, plane] of planes.entries())
      for (const [i, sample] of plane.entries()) {
        const at = ((i * planes.length + c) * width) / 8;
        if (width === 32) out.writeFloatLE(sample / 2 ** (bits - 1), at);
        else out.writeDoubleLE(sample / 2 ** (bits - 1), at);
      }
    return out;
  };
  test.each([
    { bits: 16, width: 32 },
    { bits: 24, width: 32 },
    { bits: 16, width: 64 },
    { bits: 24, width: 64 },
    { bits: 32, width: 64 },
    { bits: 20, width: 32, read: 24 },
    { bits: 12, width: 32, read: 16 },
  ] as const)('exact integers of $bits bits in $width', async ({ bits, width, ...rest }) => {
    const planes = noisePlanes(2, 3000, bits);
    const container = 'read' in rest ? rest.read : bits;
    const data = floats(planes, bits, width);
    const { info, samples, ids } = await readAll(
      await written(riff([formatChunk({ tag: 3, bits: width }), chunk('data', data)])),
    );
    expect(ids).toEqual(['float-exact']);
    expect(info).toMatchObject({ bits: container, encoding: `f${width}le` });
    expect(samples).toEqual(interleaved32(planes, bits));
  });

  test('what sox and ffmpeg make of a 24-bit recording is exact; a gain shows', async (context) => {
    const source = await needMusic(context, 'guitar');
    const folder = await tempFolder();
    const cut = ['trim', '0', '1'];
    execFileSync(needTool(context, 'sox'), ['-D', source, '-b', '24', join(folder, 'a.wav'), ...cut]);
    execFileSync('sox', ['-D', join(folder, 'a.wav'), '-e', 'float', '-b', '32', join(folder, 'f.wav')]);
    execFileSync('sox', ['-D', join(folder, 'a.wav'), '-e', 'float', '-b', '32', join(folder, 'g.wav'), 'gain', '-1']);
    const exact = await readAll(join(folder, 'f.wav'));
    expect(exact.samples).toEqual(await soxSamples(join(folder, 'a.wav')));
    // sox counts in integers of 32 bits, so even a gain is exact there: but the words are too long for a recording.
    const computed = await openAudio(join(folder, 'g.wav'));
    expect(computed.info).toMatchObject({ bits: 32, problems: [{ id: 'float-exact', severity: 'warning' }] });
    await computed.close();
  });

  test.each([
    ['beyond full scale', 1],
    ['between integers', 2 ** -40],
    ['not a number', Number.NaN],
    ['infinite', Number.NEGATIVE_INFINITY],
  ])('one sample %s: refused with its place', async (_, value) => {
    const data = floats(PLANES, 16, 32);
    data.writeFloatLE(value, (1234 * 2 + 1) * 4);
    const path = await written(riff([formatChunk({ tag: 3, bits: 32 }), chunk('data', data)]));
    const error = await openAudio(path).catch((caught: unknown) => caught);
    expect(error).toMatchObject({ kind: 'unsupported', detail: { path, offset: 44 + (1234 * 2 + 1) * 4 } });
    expect(describeError(error)).toContain('at frame 1234, file channel 2');
  });
});

describe('raw samples', () => {
  test.each([
    ['48000:2:s16le', LITTLE, PLANES, 16],
    ['48000:2:s16be', BIG, PLANES, 16],
    ['48000:2:s24be:7', Buffer.concat([Buffer.alloc(7), bigEndianBytes(PLANES24, 24)]), PLANES24, 24],
    ['48000:2:u16le', LITTLE.map((byte, i) => (i % 2 ? byte ^ 0x80 : byte)), PLANES, 16],
    ['44.1k:2:u24be', bigEndianBytes(PLANES24, 24).map((byte, i) => (i % 3 ? byte : byte ^ 0x80)), PLANES24, 24],
    ['4500000/143:2:s32le', pcmBytes(noisePlanes(2, 4800, 32), 32), noisePlanes(2, 4800, 32), 32],
    ['48000:2:u8', pcmBytes(noisePlanes(2, 4800, 8), 8), noisePlanes(2, 4800, 8), 8],
    ['48000:2:s8', pcmBytes(noisePlanes(2, 4800, 8), 8).map((byte) => byte ^ 0x80), noisePlanes(2, 4800, 8), 8],
  ] as const)('%s', async (spec, bytes, planes, bits) => {
    const audio = await openRaw(await written(bytes), parseRawSpec(spec), { name: 'north' });
    const { info, samples, audio: digest, ids } = await finish(audio);
    expect(parseRawSpec(formatRawSpec(parseRawSpec(spec)))).toEqual(parseRawSpec(spec));
    expect(info).toMatchObject({ name: 'north', frames: 4800, bits, container: 'raw', readAs: 'whole' });
    expect(ids).toEqual([]);
    expect(samples).toEqual(interleaved32(planes, bits));
    expect(digest).toBe(sha(pcmBytes(planes, bits)));
  });

  test('sox reads the same', async (context) => {
    const path = await written(bigEndianBytes(PLANES24, 24));
    const wave = join(await tempFolder(), 'a.wav');
    const raw = ['-t', 'raw', '-r', '48000', '-c', '2', '-e', 'signed', '-b', '24', '-B', path];
    execFileSync(needTool(context, 'sox'), ['-D', ...raw, wave]);
    const { samples } = await finish(await openRaw(path, parseRawSpec('48000:2:s24be')));
    expect(samples).toEqual(await soxSamples(wave));
  });

  test('a part of a frame at the end, an offset past the end, and no description', async () => {
    const path = await written(LITTLE.subarray(0, -1));
    const { info, ids } = await finish(await openRaw(path, parseRawSpec('48000:2:s16le')));
    expect(info).toMatchObject({ frames: 4799, readAs: 'partial' });
    expect(ids).toEqual(['partial-frame']);
    await expect(openRaw(path, parseRawSpec('48000:2:s16le:999999'))).rejects.toMatchObject({ kind: 'input' });
    for (const text of [
      '',
      '48000',
      '48000:2',
      '48000:2:s16',
      '48000:0:s16le',
      '48000:2:u8le',
      '48000:2:f32le',
      '0:2:u8',
    ])
      expect(() => parseRawSpec(text), text).toThrowError(expect.objectContaining({ kind: 'input' }));
  });
});

test('zero bytes to skip is the description without them', () => {
  expect(parseRawSpec('48000:2:u8:0')).toEqual(parseRawSpec('48000:2:u8'));
});

test('any description of raw samples over any bytes ends in samples or in our own error', async () => {
  const piece = fc.oneof(
    fc.constantFrom('48000', '4500000/143', '44.1k', '0', '-1', '1e9', '2', '65535', '65536', ':', '::', 's16le'),
    fc.constantFrom('u8', 's8', 's24be', 'u32le', 's12le', 'S16LE', ' ', '007', '999999999999999', '9999999999999999'),
    fc.string({ maxLength: 4 }),
  );
  const spec = fc.oneof(
    fc.array(piece, { maxLength: 6 }).map((pieces) => pieces.join(':')),
    fc.array(piece, { maxLength: 8 }).map((pieces) => pieces.join('')),
  );
  await fc.assert(
    fc.asyncProperty(spec, fc.uint8Array({ maxLength: 200 }), async (text, bytes) => {
      try {
        const parsed = parseRawSpec(text);
        expect(parseRawSpec(formatRawSpec(parsed))).toEqual(parsed);
        const { info, samples } = await finish(await openRaw(await written(bytes), parsed));
        expect(info.frames).toBe(
          Math.floor((bytes.length - (parsed.offset ?? 0)) / ((parsed.channels * parsed.bits) / 8)),
        );
        expect(samples.length).toBe(info.frames * parsed.channels);
      } catch (error) {
        expect(error, text).toBeInstanceOf(TapeproofError);
      }
    }),
    { numRuns: 300 },
  );
});

test.each(REFUSED_CONTAINERS)('refused: $name', async ({ bytes, kind, says }) => {
  const path = await written(bytes);
  const error = await openAudio(path).catch((caught: unknown) => caught);
  expect(error).toMatchObject({ kind, detail: { path } });
  expect(describeError(error)).toMatch(says);
});
