// Two threads find the anchors that one finds, in the order of the captures; where the second one fails the first does its work.
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { collectAnchors } from '../align/index.ts';
import { rate } from '../base/index.ts';
import { type AudioFile, openAudio } from '../media/index.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { WaveWriter } from '../media/wave-writer.ts';
import { Random } from '../signal/index.ts';
import { fileSource } from './capture-source.ts';
import { collectAllAnchors } from './collect-anchors.ts';

const CHANNELS = 4;
const FRAMES = 200_000;
/** long enough together for a second thread */
const SILENCE = 1_400_000;
let paths: string[] = [];
let opened: AudioFile[] = [];

beforeAll(async () => {
  const folder = await tempFolder();
  paths = ['a.wav', 'b.wav', 'c.wav'].map((name) => join(folder, name));
  for (const [k, path] of paths.entries()) {
    const random = new Random(k + 1);
    const noise = () => Int32Array.from({ length: FRAMES }, () => random.uint32() >> 8);
    const writer = await WaveWriter.create(path, { channels: CHANNELS, rate: rate(48_000), bits: 24 });
    await writer.write({ start: 0, frames: FRAMES, planes: Array.from({ length: CHANNELS }, noise) });
    await writer.extendWithSilence(SILENCE);
    await writer.commit();
  }
  opened = await Promise.all(paths.map((path) => openAudio(path)));
});

afterAll(async () => {
  for (const audio of opened) await audio.close();
});

it('gives the same anchors, whether the second thread can open its capture or not', async () => {
  const expected = [];
  for (const audio of opened) expected.push((await collectAnchors(audio)).channels);
  expect(expected.every((channels) => channels.every(({ frames }) => frames.length > 1000))).toBe(true);
  for (const second of [paths[1], 'nowhere.wav']) {
    const sources = [paths[0], second, paths[2]].map((path) => fileSource(path));
    const sets = await collectAllAnchors(sources, opened, {});
    expect(sets.map(({ channels }) => channels)).toEqual(expected);
  }
});

it('stops when asked', async () => {
  const sources = paths.map((path) => fileSource(path));
  const stopped = collectAllAnchors(sources, opened, { stop: { aborted: true } });
  await expect(stopped).rejects.toMatchObject({ kind: 'cancelled' });
});
