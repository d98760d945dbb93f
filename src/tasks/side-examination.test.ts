// Two threads say what one says, to the letter: findings, verdicts, their order. The file is long enough to start the second one.
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { memorySource, rate, stableJson } from '../base/index.ts';
import { DETECTORS, examineSource } from '../examine/index.ts';
import { createAudio } from '../media/index.ts';
import { Random } from '../signal/index.ts';
import { chanceLosses, conceal, damageOf, synthesiseProgramme } from '../simulate/index.ts';
import { examineFiles } from './examine-files.ts';

const RATE = rate(48_000);
let folder = '';
let path = '';
let planes: Int32Array[] = [];

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'tapeproof-side-'));
  path = join(folder, 'capture.wav');
  const sound = synthesiseProgramme({ channels: 2, seconds: 85, rate: RATE, bits: 16, seed: 5 });
  const frames = sound.planes[0].length;
  const losses = chanceLosses(
    { channels: [1, 2], frames, count: 30, minFrames: 1, maxFrames: 900, cause: 'test' },
    new Random(6),
  );
  planes = conceal(sound, damageOf(2, frames, [losses])).planes;
  const writer = await createAudio(path, { channels: 2, rate: RATE, bits: 16 });
  await writer.write({ start: 0, frames, planes });
  await writer.commit();
});

afterAll(() => rm(folder, { recursive: true, force: true }));

it('says what one thread says', async () => {
  const one = await examineSource(memorySource(planes, { name: path, rate: RATE, bits: 16 }), DETECTORS);
  const [two] = (await examineFiles([path])).files;
  expect(two.findings.length).toBeGreaterThan(10);
  expect(stableJson(two.findings)).toBe(stableJson(one.findings));
  expect(stableJson(two.verdicts)).toBe(stableJson(one.verdicts));
  expect(two.detectors?.map(({ id }) => id)).toEqual(one.detectors.map(({ id }) => id));
});

it('stops both threads when asked', async () => {
  const stop = { aborted: false };
  const progress = () => {
    stop.aborted = true;
  };
  await expect(examineFiles([path], {}, { stop, progress })).rejects.toMatchObject({ kind: 'cancelled' });
});
