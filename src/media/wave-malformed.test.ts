// The table of malformed WAVE files of the standards notes (section 1.2): 4800 frames of 16-bit stereo unless said. The
// table itself is testing/malformed-waves; the last column of the notes says what a careful reader must do. Its rows on
// CAF and AIFF are in containers.test, those past 4 GiB in wave-large.test.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { describeError, TapeproofError } from '../base/index.ts';
import { openAudio } from './open-audio.ts';
import { interleaved32, ourSamples } from './testing/judges.ts';
import { HALF, MALFORMED_PLANES, MALFORMED_WAVES, REFUSED_WAVES } from './testing/malformed-waves.ts';
import { tempFolder } from './testing/tools.ts';

describe('malformed WAVE files that can be read', () => {
  test.each(MALFORMED_WAVES)(
    '$name',
    async ({ bytes, problems, readAs = 'whole', planes = MALFORMED_PLANES, bits = 16, frames, headerBits = bits }) => {
      const path = join(await tempFolder(), 'capture.wav');
      await writeFile(path, bytes);
      const audio = await openAudio(path);
      try {
        const { info } = audio;
        expect(info.problems.map(({ id }) => id).sort()).toEqual([...problems].sort());
        const expected = frames ?? planes[0].length;
        expect(info).toMatchObject({
          frames: expected,
          channels: planes.length,
          bits,
          containerBits: bits,
          headerBits,
          readAs,
        });
        const truth = interleaved32(
          planes.map((plane) => plane.subarray(0, expected)),
          bits,
        );
        expect(await ourSamples(audio)).toEqual(truth);
      } finally {
        await audio.close();
      }
    },
  );

  test('12: the bytes that every tool loses are named with their place and number', async () => {
    const path = join(await tempFolder(), 'capture.wav');
    await writeFile(path, MALFORMED_WAVES.find(({ name }) => name.startsWith('12'))!.bytes);
    const audio = await openAudio(path);
    const problem = audio.info.problems.find(({ id }) => id === 'trailing-data');
    expect(problem).toMatchObject({ severity: 'damage', offset: 44 + HALF, found: `${HALF} bytes` });
    expect(problem?.message).toContain('2400 frames');
    await audio.close();
  });
});

describe('files that are refused', () => {
  test.each(REFUSED_WAVES)('$name', async ({ bytes, kind, says }) => {
    const path = join(await tempFolder(), 'capture.wav');
    await writeFile(path, bytes);
    const error = await openAudio(path).catch((caught: unknown) => caught);
    expect(error).toBeInstanceOf(TapeproofError);
    expect((error as TapeproofError).kind).toBe(kind);
    expect(describeError(error)).toMatch(says);
    expect(describeError(error)).toContain(path);
  });

  test('a missing file and a folder', async () => {
    const folder = await tempFolder();
    await expect(openAudio(join(folder, 'none.wav'))).rejects.toMatchObject({ kind: 'input', message: 'no such file' });
    await expect(openAudio(folder)).rejects.toMatchObject({ kind: 'input', detail: { found: 'a folder' } });
    await expect(openAudio('/dev/zero')).rejects.toMatchObject({ kind: 'input' });
  });
});
