// Whatever the bytes, opening and reading ends soon, in samples or in our own error. Names play no part.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { TapeproofError } from '../base/index.ts';
import { openAudio } from './open-audio.ts';
import { buildFlac } from './testing/flac-bytes.ts';
import { interleaved32, ourSamples } from './testing/judges.ts';
import { tonePlanes } from './testing/signals.ts';
import { tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from './testing/wave-bytes.ts';

const HEADS = [
  '',
  'RIFF\x24\x00\x00\x00WAVE',
  'RF64\xff\xff\xff\xffWAVEds64',
  'BW64\xff\xff\xff\xffWAVE',
  'fLaC\x00\x00\x00\x22',
  'ID3\x04\x00\x00\x7f\x7f\x7f\x7f',
];
const CHUNKS = ['fmt ', 'data', 'ds64', 'LIST', 'bext', 'JUNK'];

test('random bytes behind every beginning we know', async () => {
  const path = join(await tempFolder(), 'a.wav');
  await fc.assert(
    fc.asyncProperty(fc.constantFrom(...HEADS), fc.uint8Array({ maxLength: 300 }), async (head, rest) => {
      await writeFile(path, Buffer.concat([Buffer.from(head, 'latin1'), rest]));
      await readOrRefuse(path);
    }),
    { numRuns: 400 },
  );
});

test('random chunks with random sizes in random order', async () => {
  const path = join(await tempFolder(), 'a.wav');
  const piece = fc.oneof(
    fc.record({
      id: fc.constantFrom(...CHUNKS),
      body: fc.uint8Array({ maxLength: 60 }),
      size: fc.option(fc.nat(0xffffffff)),
    }),
    fc.record({
      channels: fc.nat(9),
      bits: fc.nat(40),
      blockAlign: fc.nat(50),
      tag: fc.constantFrom(1, 0xfffe),
      validBits: fc.nat(40),
    }),
  );
  await fc.assert(
    fc.asyncProperty(fc.array(piece, { maxLength: 6 }), fc.constantFrom('RIFF', 'RF64', 'BW64'), async (pieces, id) => {
      const chunks = pieces.map((one) =>
        'id' in one ? chunk(one.id, one.body, one.size === null ? {} : { size: one.size }) : formatChunk(one),
      );
      await writeFile(path, riff(chunks, { id }));
      await readOrRefuse(path);
    }),
    { numRuns: 600 },
  );
});

async function readOrRefuse(path: string): Promise<void> {
  const audio = await openAudio(path).catch((error: unknown) => {
    expect(error).toBeInstanceOf(TapeproofError);
    expect((error as TapeproofError).detail.path).toBe(path);
  });
  if (!audio) return;
  let frames = 0;
  for await (const block of audio.pass({ blockFrames: 7 }).blocks) frames += block.frames;
  expect(frames).toBe(audio.info.frames);
  await audio.close();
}

test('the contents decide, not the name; an ID3 tag before FLAC is passed over', async () => {
  const folder = await tempFolder();
  const planes = tonePlanes(1, 160, 16);
  const { bytes } = buildFlac({
    bits: 16,
    rateHz: 48_000,
    frames: [{ assignment: 0, subframes: [{ kind: 'verbatim' }], planes }],
  });
  const tag = Buffer.concat([Buffer.from('ID3\x04\x00\x00\x00\x00\x01\x02', 'latin1'), Buffer.alloc(130)]);
  await writeFile(join(folder, 'flac.wav'), Buffer.concat([tag, bytes]));
  await writeFile(join(folder, 'wave.flac'), riff([formatChunk({ channels: 1 }), chunk('data', pcmBytes(planes, 16))]));
  for (const [name, container] of [
    ['flac.wav', 'flac'],
    ['wave.flac', 'wave'],
  ] as const) {
    const audio = await openAudio(join(folder, name));
    expect(audio.info).toMatchObject({ container, problems: [] });
    expect(await ourSamples(audio)).toEqual(interleaved32(planes, 16));
    await audio.close();
  }
});

test('a document may call the file by another name; errors still name the path', async () => {
  const path = join(await tempFolder(), 'a.wav');
  await writeFile(path, riff([formatChunk({ channels: 1 }), chunk('data', pcmBytes(tonePlanes(1, 10, 16), 16))]));
  const audio = await openAudio(path, { name: 'north' });
  expect(audio.info.name).toBe('north');
  await audio.close();
  await writeFile(path, 'no audio');
  await expect(openAudio(path, { name: 'north' })).rejects.toMatchObject({ detail: { path } });
});

test('a file of a great many channels does not ask for memory it cannot need', async () => {
  const path = join(await tempFolder(), 'wide.wav');
  const planes = tonePlanes(60_000, 3, 8);
  await writeFile(path, riff([formatChunk({ channels: 60_000, bits: 8 }), chunk('data', pcmBytes(planes, 8))]));
  const audio = await openAudio(path);
  expect(audio.info).toMatchObject({ channels: 60_000, frames: 3, problems: [] });
  expect(await ourSamples(audio)).toEqual(interleaved32(planes, 8));
  await audio.close();
});
