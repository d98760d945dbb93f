// The FLAC decoder against the reference decoder and ffmpeg, against streams made bit by bit, and on damaged files.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { TapeproofError } from '../base/index.ts';
import type { AudioFile, Pass } from './audio-file.ts';
import { openAudio } from './open-audio.ts';
import { buildFlac, type FrameSpec, type SubframeSpec } from './testing/flac-bytes.ts';
import { ffmpegSamples, flacSamples, interleaved32, ourSamples } from './testing/judges.ts';
import { needMusic } from './testing/music.ts';
import { noisePlanes, tonePlanes } from './testing/signals.ts';
import { needTestData, needTool, tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from './testing/wave-bytes.ts';

async function runPass(audio: AudioFile, blockFrames?: number): Promise<Pass & { frames: number }> {
  const pass = audio.pass(blockFrames ? { blockFrames } : {});
  let frames = 0;
  for await (const block of pass.blocks) frames += block.frames;
  return { ...pass, frames };
}

const ids = (audio: AudioFile) => audio.info.problems.map(({ id }) => id);

/** A FLAC file that the reference encoder made from these planes. */
async function encoded(planes: readonly Int32Array[], bits: number, options: readonly string[] = []): Promise<string> {
  const folder = await tempFolder();
  const wave = join(folder, 'in.wav');
  const format = formatChunk({ tag: 0xfffe, channels: planes.length, bits, mask: 2 ** planes.length - 1 });
  await writeFile(wave, riff([format, chunk('data', pcmBytes(planes, bits))]));
  const path = join(folder, 'out.flac');
  execFileSync('flac', ['--totally-silent', '--lax', '--channel-map=none', ...options, '-o', path, wave]);
  return path;
}

describe('what the reference encoder writes', () => {
  for (const bits of [8, 16, 24, 32]) {
    for (const [signal, planesOf] of [
      ['noise', noisePlanes],
      ['a tone', tonePlanes],
    ] as const) {
      for (const options of [
        ['-0'],
        ['-8', '-b', '1152'],
        ['-5', '-l', '32', '-b', '16384'],
        ['-2', '-m', '-r', '8'],
      ]) {
        test(`${signal}, ${bits} bits, ${options.join(' ')}`, async (context) => {
          needTool(context, 'flac');
          const planes = planesOf(2, 20_011, bits);
          const path = await encoded(planes, bits, options);
          const audio = await openAudio(path);
          const pass = await runPass(audio, 1013);
          expect(audio.info).toMatchObject({ frames: 20_011, bits, container: 'flac', readAs: 'whole', problems: [] });
          expect(pass.digests().audio.sha256).toBe(createHash('sha256').update(pcmBytes(planes, bits)).digest('hex'));
          expect(pass.digests().file.sha256).toBe(
            createHash('sha256')
              .update(await readFile(path))
              .digest('hex'),
          );
          expect(await ourSamples(audio)).toEqual(interleaved32(planes, bits));
          expect(await flacSamples(path, bits)).toEqual(interleaved32(planes, bits));
          await audio.close();
        });
      }
    }
  }

  test('32 bits at both ends, the channels opposed: the side channel needs 33 bits', async (context) => {
    needTool(context, 'flac');
    const left = Int32Array.from({ length: 5000 }, (_, i) =>
      i % 2 ? 2_147_483_647 - (i % 7) : -2_147_483_648 + (i % 5),
    );
    const planes = [left, left.map((sample) => ~sample)];
    const audio = await openAudio(await encoded(planes, 32, ['-8', '-m']));
    expect(await ourSamples(audio)).toEqual(interleaved32(planes, 32));
    expect((await runPass(audio)).problems()).toEqual([]);
    await audio.close();
  });

  test('one to eight channels, real music, as flac and ffmpeg decode it', async (context) => {
    for (const tool of ['flac', 'ffmpeg', 'sox']) needTool(context, tool);
    const source = await needMusic(context, 'guitar');
    const folder = await tempFolder();
    for (const channels of [1, 3, 6, 8]) {
      const wave = join(folder, `${channels}.wav`);
      const remix = Array.from({ length: channels }, (_, c) => `${(c % 2) + 1}v${(1 - c / 10).toFixed(1)}`);
      execFileSync('sox', ['-D', source, '-b', '24', wave, 'trim', '3', '2', 'remix', ...remix]);
      execFileSync('flac', ['--totally-silent', '--channel-map=none', wave]);
      const path = join(folder, `${channels}.flac`);
      const audio = await openAudio(path);
      const ours = await ourSamples(audio, 4000);
      expect(ours).toEqual(await flacSamples(path, 24));
      expect(ours).toEqual(await ffmpegSamples(path));
      expect((await runPass(audio)).problems()).toEqual([]);
      await audio.close();
    }
  });

  test('what ffmpeg encodes', async (context) => {
    for (const tool of ['flac', 'ffmpeg']) needTool(context, tool);
    const path = join(await tempFolder(), 'out.flac');
    const source = await needMusic(context, 'viola');
    execFileSync('ffmpeg', ['-v', 'error', '-i', source, '-c:a', 'flac', '-compression_level', '12', path]);
    const audio = await openAudio(path);
    expect(await ourSamples(audio)).toEqual(await flacSamples(path, 24));
    expect((await runPass(audio)).problems()).toEqual([]);
    await audio.close();
  });
});

describe('the bench files of RFC 9639', () => {
  for (const [name, bits] of [
    ['14_-_wasted_bits', 16],
    ['22_-_12_bit_per_sample', 12],
    ['37_-_20_bit_per_sample', 20],
    ['43_-_8_channels_(7.1)', 16],
    ['60_-_mono_audio', 16],
  ] as const) {
    test(name, async (context) => {
      const path = join(needTestData(context), 'flac', `${name}.flac`);
      needTool(context, 'ffmpeg');
      const audio = await openAudio(path);
      expect(audio.info.bits).toBe(bits);
      expect(await ourSamples(audio)).toEqual(await ffmpegSamples(path));
      expect((await runPass(audio)).problems()).toEqual([]);
      await audio.close();
    });
  }

  for (const [name, problems, frames] of [
    ['faulty_03_-_wrong_bit_depth', ['streaminfo-contradiction'], 89_903],
    ['faulty_04_-_wrong_number_of_channels', ['streaminfo-contradiction'], 97_391],
    ['faulty_05_-_wrong_total_number_of_samples', ['total-wrong'], 109_487],
    ['faulty_11_-_incorrect_metadata_block_length', ['metadata-damaged', 'stray-bytes'], 64_559],
  ] as const) {
    test(`${name}: named, and all the audio read (its MD5 is right)`, async (context) => {
      const audio = await openAudio(join(needTestData(context), 'flac', `${name}.flac`));
      const pass = await runPass(audio);
      expect(pass.problems().map(({ id }) => id)).toEqual(problems);
      expect(pass.frames).toBe(frames);
      expect(audio.info).toMatchObject({ frames, readAs: 'whole' });
      await audio.close();
    });
  }
});

/** Every kind of subframe that suits the samples. */
const SUBFRAMES: readonly SubframeSpec[] = [
  { kind: 'verbatim' },
  ...[0, 1, 2, 3, 4].map((order) => ({ kind: 'fixed' as const, order, partitionOrder: order })),
  { kind: 'fixed', order: 2, partitionOrder: 3, hasEscapes: true },
  { kind: 'fixed', order: 1, partitionOrder: 2, isWide: true, hasEscapes: true },
  { kind: 'linear', coefficients: [16_383, -8191], shift: 13, precision: 15, isWide: true },
  { kind: 'linear', coefficients: [3, -3, 1], shift: 0, precision: 3 },
  {
    kind: 'linear',
    coefficients: [900, -400, 10, -20, 5, 3, -2, 1, 0, 7, -3, 2, 1],
    shift: 9,
    precision: 11,
    partitionOrder: 1,
  },
  {
    kind: 'linear',
    coefficients: Array.from({ length: 32 }, (_, i) => (i % 2 ? -300 : 300) + i),
    shift: 8,
    precision: 12,
    isWide: true,
  },
];

function frameOf(planes: readonly Int32Array[], assignment: number, pick: number): FrameSpec {
  const subframes = planes.map((_, c) => SUBFRAMES[(pick + c * 5) % SUBFRAMES.length]);
  return { assignment, subframes, planes };
}

async function openBytes(bytes: Uint8Array): Promise<AudioFile> {
  const path = join(await tempFolder(), 'made.flac');
  await writeFile(path, bytes);
  return openAudio(path);
}

describe('streams made bit by bit', () => {
  test('every subframe, stereo coding, depth and blocking strategy', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(4, 7, 8, 12, 13, 16, 20, 24, 29),
        fc.constantFrom(0, 1, 2, 7, 8, 9, 10),
        fc.boolean(),
        fc.array(fc.tuple(fc.nat(SUBFRAMES.length - 1), fc.integer({ min: 5, max: 12 })), {
          minLength: 1,
          maxLength: 4,
        }),
        fc.integer({ min: 1, max: 1000 }),
        async (bits, assignment, isVariable, picks, seed) => {
          const channels = assignment < 8 ? assignment + 1 : 2;
          const sizes = picks.map(([, size]) => (isVariable ? size : picks[0][1]) * 16);
          const whole = tonePlanes(
            channels,
            sizes.reduce((a, b) => a + b, 0),
            bits,
            seed,
          );
          let at = 0;
          const frames = picks.map(([pick], i) => {
            const planes = whole.map((plane) => plane.subarray(at, at + sizes[i]));
            at += sizes[i];
            return frameOf(planes, assignment, pick);
          });
          const audio = await openBytes(buildFlac({ bits, rateHz: 48_000, isVariable, frames }).bytes);
          expect(await ourSamples(audio, 100)).toEqual(interleaved32(whole, bits));
          expect(audio.info).toMatchObject({ readAs: 'whole', problems: [], bits });
          await audio.close();
        },
      ),
      { numRuns: 150 },
    );
  });

  test.for(SUBFRAMES.map((subframe, i) => [i, subframe] as const))(
    'subframe %i is decoded alike by the reference decoder: %j',
    async ([i], context) => {
      needTool(context, 'flac');
      const planes = tonePlanes(2, 320, 16, 5);
      const subframes = [SUBFRAMES[i], SUBFRAMES[(i + 1) % SUBFRAMES.length]];
      const path = join(await tempFolder(), 'made.flac');
      const frames = [8, 9, 10, 1].map((assignment) => ({ assignment, subframes, planes }));
      await writeFile(path, buildFlac({ bits: 16, rateHz: 48_000, frames }).bytes);
      expect(await flacSamples(path, 16)).toEqual(
        interleaved32(
          planes.map((p) => Int32Array.of(...p, ...p, ...p, ...p)),
          16,
        ),
      );
    },
  );

  test('33-bit side channels, verbatim, constant and predicted', async () => {
    const [top, bottom] = [2_147_483_647, -2_147_483_648];
    const ramp = Int32Array.from({ length: 64 }, (_, i) => bottom + i * 3);
    const opposed = ramp.map((sample) => ~sample);
    for (const assignment of [8, 9, 10]) {
      for (const [subframes, planes] of [
        [
          [{ kind: 'verbatim' }, { kind: 'verbatim' }],
          [ramp, opposed],
        ],
        [
          [{ kind: 'constant' }, { kind: 'constant' }],
          [new Int32Array(64).fill(bottom), new Int32Array(64).fill(top)],
        ],
        [
          [
            { kind: 'fixed', order: 2 },
            { kind: 'fixed', order: 1 },
          ],
          [ramp, opposed],
        ],
        [
          [
            { kind: 'linear', coefficients: [2, -1], shift: 0, precision: 4 },
            { kind: 'linear', coefficients: [1], shift: 0, precision: 2 },
          ],
          [opposed, ramp],
        ],
      ] as [SubframeSpec[], Int32Array[]][]) {
        const audio = await openBytes(
          buildFlac({ bits: 32, rateHz: 48_000, frames: [{ assignment, subframes, planes }] }).bytes,
        );
        expect(await ourSamples(audio)).toEqual(interleaved32(planes, 32));
        await audio.close();
      }
    }
  });

  test('wasted bits, also together with a side channel', async () => {
    const planes = tonePlanes(2, 160, 12, 3).map((plane) => plane.map((sample) => sample << 4));
    const subframes: SubframeSpec[] = [
      { kind: 'fixed', order: 2, wasted: 4 },
      { kind: 'verbatim', wasted: 3 },
    ];
    const frames = [1, 8].map((assignment) => ({ assignment, subframes, planes }));
    const audio = await openBytes(buildFlac({ bits: 16, rateHz: 48_000, frames }).bytes);
    expect(await ourSamples(audio)).toEqual(
      interleaved32(
        planes.map((p) => Int32Array.of(...p, ...p)),
        16,
      ),
    );
    await audio.close();
  });

  test('an unknown total is counted; a stream cut from a longer one begins at its own first frame', async () => {
    const planes = tonePlanes(1, 192, 16);
    const frames = [frameOf(planes, 0, 2), frameOf(planes, 0, 4), frameOf(planes, 0, 0)];
    const { bytes } = buildFlac({ bits: 16, rateHz: 44_100, frames, total: 0, firstNumber: 2_000_000 });
    const audio = await openBytes(bytes);
    expect(audio.info).toMatchObject({ frames: 576, readAs: 'whole' });
    expect(ids(audio)).toEqual(['total-unknown']);
    expect((await audio.read(500, 100)).planes[0]).toEqual(planes[0].slice(116));
    await audio.close();
  });
});

describe('random access', () => {
  test('any position gives what sequential reading gives', async (context) => {
    needTool(context, 'flac');
    const planes = tonePlanes(3, 150_000, 24);
    const audio = await openAudio(await encoded(planes, 24));
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: -5, max: 151_000 }),
        fc.integer({ min: 0, max: 9000 }),
        async (start, count) => {
          const block = await audio.read(start, count);
          const from = Math.min(Math.max(0, start), 150_000);
          expect(block.start).toBe(from);
          expect(block.planes).toEqual(planes.map((plane) => plane.slice(from, Math.max(from, start + count))));
        },
      ),
      { numRuns: 60 },
    );
    const some = await Promise.all([140_000, 3, 70_000, 70_100].map((start) => audio.read(start, 50)));
    expect(some.map((block) => block.planes[1])).toEqual(
      [140_000, 3, 70_000, 70_100].map((at) => planes[1].slice(at, at + 50)),
    );
    const starts: number[] = [];
    for await (const block of audio.blocks({ start: 149_000, blockFrames: 600 })) starts.push(block.start);
    expect(starts).toEqual([149_000, 149_600]);
    await audio.close();
  });

  test('small reads in a row do not decode from the start each time', async (context) => {
    needTool(context, 'flac');
    const planes = noisePlanes(2, 400_000, 16);
    const audio = await openAudio(await encoded(planes, 16));
    // 1.6 MB: more than one index entry. Counting calls would need a mock; so many reads end only if each is cheap.
    for (let start = 0; start < 400_000; start += 50) {
      const block = await audio.read(start, 50);
      if (block.planes[1][49] !== planes[1][start + 49]) expect.fail(`wrong at ${start}`);
    }
    await audio.close();
  });
});

describe('damage', () => {
  const planes = tonePlanes(2, 16 * 100, 16, 9);
  const frames = Array.from({ length: 10 }, (_, i) =>
    frameOf(
      planes.map((plane) => plane.slice(i * 160, i * 160 + 160)),
      10,
      i,
    ),
  );
  const md5 = createHash('md5').update(pcmBytes(planes, 16)).digest('hex');
  const { bytes, offsets } = buildFlac({ bits: 16, rateHz: 48_000, frames, md5 });
  const zeroed = (from: number, to: number) =>
    planes.map((plane) => plane.map((sample, i) => (i >= from && i < to ? 0 : sample)));

  test('the file itself is sound', async () => {
    const audio = await openBytes(bytes);
    expect((await runPass(audio)).problems()).toEqual([]);
    await audio.close();
  });

  for (const [what, change, expected, from, to] of [
    [
      'a bit flipped inside frame 4',
      (copy: Buffer) => (copy[offsets[4] + 30] ^= 4),
      [
        ['frame-damaged', offsets[4]],
        ['md5-mismatch', undefined],
      ],
      640,
      800,
    ],
    [
      'the header of frame 0',
      (copy: Buffer) => (copy[offsets[0] + 2] ^= 1),
      [
        ['frame-damaged', offsets[0]],
        ['md5-mismatch', undefined],
      ],
      0,
      160,
    ],
    [
      'three frames overwritten',
      (copy: Buffer) => copy.fill(0xff, offsets[5], offsets[8]),
      [
        ['frame-damaged', offsets[5]],
        ['md5-mismatch', undefined],
      ],
      800,
      1280,
    ],
    [
      'the last frame',
      (copy: Buffer) => (copy[copy.length - 3] ^= 1),
      [
        ['frame-damaged', offsets[9]],
        ['md5-mismatch', undefined],
      ],
      1440,
      1600,
    ],
  ] as [string, (copy: Buffer) => unknown, [string, number | undefined][], number, number][]) {
    test(`${what}: zeros for the lost frames only, the place named`, async () => {
      const copy = Buffer.from(bytes);
      change(copy);
      const audio = await openBytes(copy);
      expect(await ourSamples(audio, 77)).toEqual(interleaved32(zeroed(from, to), 16));
      const pass = await runPass(audio);
      const found = pass.problems().filter(({ id }, i, all) => all.findIndex((other) => other.id === id) === i);
      expect(found.map(({ id, offset }) => [id, offset])).toEqual(expected);
      expect(audio.info).toMatchObject({ readAs: 'partial', frames: 1600 });
      expect((await audio.read(Math.max(0, from - 5), 400)).planes).toEqual(
        zeroed(from, to).map((plane) => plane.slice(Math.max(0, from - 5), Math.max(0, from - 5) + 400)),
      );
      await audio.close();
    });
  }

  test('frames taken out leave a gap of zeros', async () => {
    const audio = await openBytes(Buffer.concat([bytes.subarray(0, offsets[3]), bytes.subarray(offsets[5])]));
    expect(await ourSamples(audio)).toEqual(interleaved32(zeroed(480, 800), 16));
    const pass = await runPass(audio);
    expect(pass.problems()[0]).toMatchObject({ id: 'frames-missing', offset: offsets[3], expected: '320 frames' });
    await audio.close();
  });

  test('a file cut between frames has the frames that are there', async () => {
    const audio = await openBytes(bytes.subarray(0, offsets[7]));
    expect(audio.info).toMatchObject({ frames: 1120, readAs: 'partial' });
    expect(ids(audio)).toEqual(['data-truncated']);
    expect(await ourSamples(audio)).toEqual(
      interleaved32(
        planes.map((plane) => plane.slice(0, 1120)),
        16,
      ),
    );
    await audio.close();
  });

  test('bytes put between and behind the frames cost no audio', async () => {
    const tag = Buffer.concat([Buffer.from('TAG'), Buffer.alloc(125, 0x20)]);
    const audio = await openBytes(
      Buffer.concat([bytes.subarray(0, offsets[2]), Buffer.alloc(1000, 0xff), bytes.subarray(offsets[2]), tag]),
    );
    expect(await ourSamples(audio)).toEqual(interleaved32(planes, 16));
    const pass = await runPass(audio);
    expect(pass.problems().map(({ id }) => id)).toEqual(['stray-bytes', 'stray-bytes']);
    expect(audio.info.readAs).toBe('whole');
    await audio.close();
  });

  test('a wrong MD5 alone is told', async () => {
    const audio = await openBytes(buildFlac({ bits: 16, rateHz: 48_000, frames, md5: 'ab'.repeat(16) }).bytes);
    expect(audio.info.readAs).toBe('whole');
    const pass = await runPass(audio);
    expect(pass.problems()).toMatchObject([
      { id: 'md5-mismatch', severity: 'damage', expected: 'ab'.repeat(16), found: md5 },
    ]);
    expect(audio.info.readAs).toBe('partial');
    await audio.close();
  });

  test('random changes: our errors or frames of the right number, never anything else', async () => {
    const path = join(await tempFolder(), 'made.flac');
    await fc.assert(
      fc.asyncProperty(
        fc.array(fc.tuple(fc.nat(bytes.length - 1), fc.nat(255)), { minLength: 1, maxLength: 6 }),
        fc.integer({ min: 0, max: bytes.length * 3 }),
        async (changes, cut) => {
          const copy = Buffer.from(bytes.subarray(0, cut));
          for (const [at, value] of changes) if (at < copy.length) copy[at] = value;
          await writeFile(path, copy);
          const audio = await openAudio(path).catch((error: unknown) => {
            expect(error).toBeInstanceOf(TapeproofError);
          });
          if (!audio) return;
          const pass = await runPass(audio, 100);
          expect(pass.frames).toBe(audio.info.frames);
          expect((await audio.read(0, 2000)).frames).toBe(Math.min(2000, audio.info.frames));
          await audio.close();
        },
      ),
      { numRuns: 300 },
    );
  });
});
