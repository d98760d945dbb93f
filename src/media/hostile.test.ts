// Files that lie, on purpose or by accident: each ends in samples or in our own error, soon, and without taking memory that the
// file does not hold. The files and what each comes to are in testing/hostile-files.
import { execFileSync } from 'node:child_process';
import { mkdir, symlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { openAudio } from './index.ts';
import { countAllocation } from './testing/allocation.ts';
import { mutate, readOrRefuse, validFiles } from './testing/fuzz.ts';
import { HOSTILE_FILES, type HostileOutcome } from './testing/hostile-files.ts';
import { randomWords } from './testing/signals.ts';
import { needTool, tempFolder } from './testing/tools.ts';
import { chunk, formatChunk, riff } from './testing/wave-bytes.ts';

/** Generous: the slowest takes a tenth of it on a busy machine. Not a measure of speed, only of ending at all. */
const SOON_MS = 20_000;
const KIB = 1024;

describe.each(HOSTILE_FILES)('%s', (family, cases) => {
  test.each(cases)(
    '%s',
    async (_, bytes, outcome) => {
      const path = join(await tempFolder(), 'capture');
      await writeFile(path, bytes);
      const { largestBytes, totalBytes } = await countAllocation(() => readOrRefuse(path));
      // Samples of one byte become integers of four, FLAC blocks may be 65535 frames of eight channels whatever the file: see below.
      const room = family === 'FLAC' ? 3 * KIB * KIB : 32 * KIB;
      expect(largestBytes).toBeLessThanOrEqual(4 * bytes.length + room);
      expect(totalBytes).toBeLessThanOrEqual(40 * bytes.length + 20 * room);
      const audio = await openAudio(path).catch((error: { kind: HostileOutcome }) => error.kind);
      if (typeof audio === 'string' || typeof audio === 'number') expect(audio).toBe(outcome);
      else {
        expect(audio.info.frames).toBe(outcome);
        await audio.close();
      }
    },
    SOON_MS,
  );
});

test('there are more than sixty', () => {
  expect(HOSTILE_FILES.flatMap(([, files]) => [...files]).length).toBeGreaterThan(60);
});

test('what is no file', async (context) => {
  const folder = await tempFolder();
  await mkdir(join(folder, 'folder.wav'));
  execFileSync(needTool(context, 'mkfifo'), [join(folder, 'fifo.wav')]);
  await symlink(join(folder, 'nowhere'), join(folder, 'dangling.wav'));
  await symlink(join(folder, 'circle.wav'), join(folder, 'circle.wav'));
  for (const name of ['folder.wav', 'fifo.wav', 'dangling.wav', 'circle.wav', 'nothing.wav', 'folder.wav/a.wav'])
    expect(await readOrRefuse(join(folder, name)), name).toMatch(/^(input|io): /);
  await writeFile(join(folder, 'real'), riff([formatChunk(), chunk('data', Buffer.alloc(400, 1))]));
  await symlink(join(folder, 'real'), join(folder, 'link.wav'));
  expect(await readOrRefuse(join(folder, 'link.wav'))).toBe('wave ');
});

describe('valid files of every kind', () => {
  const files = [...validFiles()];

  test.each(files)('%s is whole as it is, and ends well wherever it is cut', async (name, bytes) => {
    const path = join(await tempFolder(), name);
    await writeFile(path, bytes);
    expect((await readOrRefuse(path)).trim()).toMatch(/^[a-z0-9]+( float-exact| size-open)?$/);
    const step = Math.max(1, Math.floor(bytes.length / 150));
    for (let length = 0; length < bytes.length; length += length < 150 ? 1 : step) {
      await writeFile(path, bytes.subarray(0, length));
      await readOrRefuse(path);
    }
  });

  test.each(files)('%s with random damage', async (name, bytes) => {
    const path = join(await tempFolder(), name);
    await fc.assert(
      fc.asyncProperty(fc.integer(), async (seed) => {
        await writeFile(path, mutate(bytes, randomWords(seed)));
        await readOrRefuse(path);
      }),
      { numRuns: 150 },
    );
  });
});
