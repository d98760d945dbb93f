// Status given on the command line and on a sheet, from file to document and report: the contradiction is said, the audio is not touched.
import { readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { createAudio } from '../media/index.ts';
import { loadMusic, needMusic } from '../media/testing/music.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { Random } from '../signal/index.ts';
import { examineFiles, examineNeedsPerson } from './examine-files.ts';
import { runNeedsPerson, runSheet } from './run-sheet.ts';

async function capture(folder: string, name: string): Promise<string> {
  const random = new Random(5);
  const plane = Int32Array.from({ length: 96_000 }, () => Math.round(random.gaussian() * 3000));
  const path = join(folder, name);
  const writer = await createAudio(path, { channels: 2, rate: rate(48_000), bits: 16 });
  await writer.write({ start: 0, frames: plane.length, planes: [plane, plane.slice().reverse()] });
  await writer.commit();
  return path;
}

describe('examine', () => {
  it('holds a log against the file', async () => {
    const folder = await tempFolder();
    const path = await capture(folder, 'a.wav');
    const log = join(folder, 'a.csv');
    await writeFile(log, 'time,status\n0,04820003\n0:01,04820002\n');
    const document = await examineFiles([path], { status: log });
    const { interface: said } = document.files[0];
    expect(said?.source).toBe(log);
    expect(said?.contradictions.map(({ about, start, length }) => [about, start, length])).toEqual([
      ['rate', 0, 48_000],
    ]);
    expect(said?.remarks).toEqual(['the flagged rate changes at frame 48000: 32000 to 48000']);
    expect(examineNeedsPerson(document)).toBe(true);
  });

  it('refuses one log for two captures, and takes typed words for both', async () => {
    const folder = await tempFolder();
    const paths = [await capture(folder, 'a.wav'), await capture(folder, 'b.wav')];
    await writeFile(join(folder, 'a.csv'), 'time,status\n0,04820002\n');
    await expect(examineFiles(paths, { status: join(folder, 'a.csv') })).rejects.toThrow('one status log');
    const { files } = await examineFiles(paths, { status: 'consumer rate=48000' });
    expect(files.map((file) => file.interface?.contradictions)).toEqual([[], []]);
  });
});

it('a sheet: flags in the report, the master as without them', async () => {
  const folder = await tempFolder();
  await capture(folder, 'a.wav');
  const sheet = (status: string) =>
    `tape: { id: HB-1 }\ncaptures:\n  - { file: a.wav, pass: 1, channels: [1, 2]${status} }\n`;
  await writeFile(join(folder, 'plain.yaml'), sheet(''));
  await writeFile(join(folder, 'flags.yaml'), sheet(', status: "04 82 00 00"'));
  const plain = await runSheet(join(folder, 'plain.yaml'), { out: join(folder, 'plain') });
  const flagged = await runSheet(join(folder, 'flags.yaml'), { out: join(folder, 'flags') });
  expect(flagged.masters[0].digests).toEqual(plain.masters[0].digests);
  expect(flagged.contradictions).toHaveLength(1);
  expect(flagged.contradictions[0]).toMatch(/^a\.wav: the flag says 44100 Hz/);
  expect(runNeedsPerson(flagged)).toBe(true);
  expect(await readFile(join(folder, 'flags/report.txt'), 'utf8')).toContain('What the interface said');
});

it('a sheet with a status that is none, or a log that is missing, is told with its place', async () => {
  const folder = await tempFolder();
  await capture(folder, 'a.wav');
  const path = join(folder, 's.yaml');
  const sheet = (status: string) =>
    `tape: { id: HB-1 }\ncaptures:\n  - { file: a.wav, pass: 1, channels: [1, 2], status: "${status}" }\n`;
  await writeFile(path, sheet('consumer rate=47'));
  await expect(runSheet(path, { out: folder })).rejects.toThrow(/rate/);
  await writeFile(path, sheet('nolog.csv'));
  await expect(runSheet(path, { out: folder })).rejects.toThrow(/status log not found/);
});

it('a log of validity beside concealment in real music: the habit of the deck, found from file to document', async (context) => {
  const folder = await tempFolder();
  const plane = (await loadMusic(await needMusic(context, 'guitar'))).planes[0].slice(0, 15 * 44_100);
  const places = Array.from({ length: 24 }, (_, i) => 20_000 + i * 25_000);
  for (const at of places) {
    // The deck draws a line over twelve samples that it could not correct.
    const [from, to] = [plane[at - 1], plane[at + 12]];
    for (let k = 0; k < 12; k++) plane[at + k] = Math.round(from + ((to - from) * (k + 1)) / 13);
  }
  const path = join(folder, 'a.wav');
  const writer = await createAudio(path, { channels: 1, rate: rate(44_100), bits: 16 });
  await writer.write({ start: 0, frames: plane.length, planes: [plane] });
  await writer.commit();
  const lines = places.map((at) => `${192 * Math.floor(at / 192)},12`);
  await writeFile(join(folder, 'v.csv'), `frame,invalid\n0,0\n${lines.join('\n')}\n${plane.length - 192},0\n`);
  const { files } = await examineFiles([path], { status: join(folder, 'v.csv') });
  const [habit] = files[0].interface?.validity ?? [];
  expect(habit).toMatchObject({ habit: 'uncorrectable only', flags: 24 });
  expect(habit.lossesFlagged).toBeGreaterThan(16);
  expect(habit.agreementPercent).toBeGreaterThan(70);
});
