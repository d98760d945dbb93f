// Digests against sha256sum, across containers, and refused for half a file.
import { execFileSync } from 'node:child_process';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { digestAudio, digestFile } from './digest.ts';
import { noisePlanes } from './testing/signals.ts';
import { needTool, tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from './testing/wave-bytes.ts';

test('a file has the digest that sha256sum gives it', async (context) => {
  const path = join(await tempFolder(), 'any.bin');
  for (const size of [0, 1, 5_000_001]) {
    await writeFile(path, Buffer.alloc(size, 'tape'));
    const [expected] = execFileSync(needTool(context, 'sha256sum'), [path], { encoding: 'utf8' }).split(' ');
    expect(await digestFile(path)).toEqual({ sha256: expected, bytes: size });
  }
  await expect(digestFile(`${path}.none`)).rejects.toMatchObject({ kind: 'input' });
  await expect(digestFile(path, { stop: { aborted: true } })).rejects.toMatchObject({ kind: 'cancelled' });
});

test.for([8, 16, 24, 32])('%i bits: the same audio has the same digest in WAVE and FLAC', async (bits, context) => {
  needTool(context, 'flac');
  const folder = await tempFolder();
  const path = join(folder, 'a.wav');
  await writeFile(
    path,
    riff([formatChunk({ channels: 2, bits }), chunk('data', pcmBytes(noisePlanes(2, 9000, bits), bits))]),
  );
  execFileSync('flac', ['--totally-silent', path]);
  const [wave, flac] = await Promise.all([digestAudio(path), digestAudio(join(folder, 'a.flac'))]);
  expect(flac.audio).toEqual(wave.audio);
  expect(flac.file).not.toEqual(wave.file);
});

test('half of the audio has no digest', async () => {
  const path = join(await tempFolder(), 'a.wav');
  const bytes = riff([formatChunk(), chunk('data', pcmBytes(noisePlanes(2, 9000, 16), 16))]);
  await writeFile(path, bytes.subarray(0, 20_000));
  await expect(digestAudio(path)).rejects.toMatchObject({
    kind: 'input',
    detail: { found: expect.stringContaining('data-truncated') },
  });
});
