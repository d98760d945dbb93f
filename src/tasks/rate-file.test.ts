// `rate` from files: a second recorder's clock made by an interpolator (signal/resample, checked against sox), a typed clock, a log of flags; bad words refused.
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { rate, rateHz } from '../base/index.ts';
import { rateText } from '../deliver/index.ts';
import { createAudio } from '../media/index.ts';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { resampleReal } from '../signal/index.ts';
import { rateFile, rateNeedsPerson } from './rate-file.ts';

async function writeWave(path: string, plane: Int32Array): Promise<void> {
  const writer = await createAudio(path, { channels: 1, rate: rate(44_100), bits: 16 });
  await writer.write({ start: 0, frames: plane.length, planes: [plane] });
  await writer.commit();
}

describe('twenty seconds on a recorder that runs at 44.056 kHz and calls it 44.1', () => {
  it('is told by a capture of known rate', async (context) => {
    const folder = await tempFolder();
    const plane = (await loadMusic(await needMusic(context, 'guitar'))).planes[0];
    const sound = Float64Array.from(plane, (x) => 0.7 * x);
    const [known, other] = [join(folder, 'known.wav'), join(folder, 'other.wav')];
    await writeWave(known, Int32Array.from(sound, Math.round));
    const slow = resampleReal(sound, 0, 1.001, Math.floor(sound.length / 1.001));
    await writeWave(other, Int32Array.from(slow, Math.round));
    const document = await rateFile(other, { reference: known });
    expect(document.answer.rate).toEqual({ num: 6_300_000, den: 143 });
    const { measuredHz } = document.evidence.find(({ kind }) => kind === 'reference') ?? {};
    expect(Math.abs((measuredHz ?? 0) / (44_100 / 1.001) - 1) * 1e6).toBeLessThan(5);
    expect(rateNeedsPerson(document)).toBe(true);
  });
});

it('one head lost on a tape with fields of 625 samples: 31.25 kHz, whatever the header says', async (context) => {
  const folder = await tempFolder();
  const plane = (await loadMusic(await needMusic(context, 'guitar'))).planes[0].slice();
  // The deck mutes every second field for two seconds, somewhere in the music.
  for (let field = 400; field < 500; field += 2) plane.fill(0, 311 + 625 * field, 311 + 625 * (field + 1));
  const path = join(folder, 'eight.wav');
  await writeWave(path, plane);
  const { answer, evidence } = await rateFile(path, {});
  expect(evidence.map(({ kind }) => kind)).toEqual(['loss-period']);
  expect(answer.rate).toEqual({ num: 31_250, den: 1 });
});

describe('what is given', () => {
  const plane = Int32Array.from({ length: 60 * 44_100 }, (_, i) => ((i * 2_654_435_761) % 4001) - 2000);

  it('a clock of 20 ms in a minute decides, half a second does not', async () => {
    const folder = await tempFolder();
    const path = join(folder, 'a.wav');
    await writeWave(path, plane);
    const fine = await rateFile(path, { clock: '1:00.06+-0.02' });
    expect(fine.answer.rate && rateHz(fine.answer.rate)).toBeCloseTo(44_055.944, 2);
    const rough = await rateFile(path, { clock: '60' });
    expect(rough.answer.rate).toBeNull();
    expect(rateText(rough)).toContain('cannot be told');
  });

  it('flags and formats are told and count for nothing; flagged changes are listed', async () => {
    const folder = await tempFolder();
    const path = join(folder, 'a.wav');
    await writeWave(path, plane);
    await writeFile(join(folder, 's.csv'), 'frame,status\n0,consumer rate=48000\n1000,consumer rate=32000\n');
    const document = await rateFile(path, { status: join(folder, 's.csv'), format: 'pcm-adaptor-525' });
    expect(document.answer.ppm).toBeNull();
    expect(document.evidence.every(({ isClaim }) => isClaim)).toBe(true);
    expect(document.flaggedChanges).toEqual([{ at: 1000, before: '48000', after: '32000' }]);
  });

  it.for([
    [{ clock: '1:xx' }],
    [{ clock: '0' }],
    [{ status: 'consumer rate=1' }],
    [{ format: 'no-such' }],
    [{ reference: '/no/such.wav' }],
  ] as const)('%j is refused', async ([options]) => {
    const folder = await tempFolder();
    const path = join(folder, 'a.wav');
    await writeWave(path, plane.slice(0, 5000));
    await expect(rateFile(path, options)).rejects.toThrow();
  });
});
