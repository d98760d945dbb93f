// A rendering of a made recording: as loud as the original by the word of ffmpeg's own meter (one decimal, so 0.15 LU), marked as a derivative, the
// original untouched, nothing overwritten.
import { execFileSync, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { rate } from '../base/index.ts';
import { needTool, tempFolder } from '../media/testing/tools.ts';
import { synthesiseProgramme } from '../simulate/index.ts';
import { renderFile } from './render-file.ts';
import { writeMaster } from './write-master.ts';

let path = '';
let folder = '';
const digest = (file: string) => createHash('sha256').update(readFileSync(file)).digest('hex');

beforeAll(async () => {
  folder = await tempFolder();
  path = join(folder, 'song.wav');
  const sound = synthesiseProgramme({ channels: 2, seconds: 15, rate: rate(44_100), bits: 16, seed: 3 });
  async function* blocks() {
    yield { start: 0, frames: sound.planes[0].length, planes: [...sound.planes] };
  }
  await writeMaster(path, { channels: 2, rate: rate(44_100), bits: 16 }, blocks());
});

function loudness(file: string): number {
  const { stderr } = spawnSync('ffmpeg', ['-hide_banner', '-i', file, '-af', 'ebur128', '-f', 'null', '-'], {
    encoding: 'utf8',
  });
  return Number(/I:\s+(-?[\d.]+) LUFS/.exec(stderr.slice(stderr.lastIndexOf('Summary')))?.[1]);
}

describe('render', () => {
  it('says where the pattern of a lost head is a guess', async () => {
    const document = await renderFile(path, {
      format: 'eight-track-8mm',
      damage: 'head',
      out: join(folder, 'head.wav'),
    });
    expect(document.notSimulated.join(' ')).toMatch(/guess/);
  });

  it.each(['eight-mm-pcm-625', 'dat-lp-32k'])('%s: as loud as the original, and says what it is', async (format) => {
    const before = digest(path);
    const document = await renderFile(path, { format });
    expect(document.out).toBe(join(folder, `song.${format}.derivative.wav`));
    expect(document.isMatched).toBe(true);
    expect(readFileSync(document.note, 'utf8')).toMatch(/^DERIVATIVE/);
    expect(digest(path)).toBe(before);
    await expect(renderFile(path, { format })).rejects.toThrow(/already/);
  });

  it('matches by the word of ffmpeg', async (context) => {
    needTool(context, 'ffmpeg');
    const out = join(folder, 'quiet.wav');
    await renderFile(path, { format: 'eight-mm-pcm-525', out, damage: 'dropouts', seed: 2 });
    expect(Math.abs(loudness(out) - loudness(path))).toBeLessThan(0.15);
    const probe = execFileSync(
      'ffprobe',
      ['-v', 'error', '-show_entries', 'stream=sample_rate,channels,bits_per_raw_sample', '-of', 'csv=p=0', out],
      { encoding: 'utf8' },
    );
    expect(probe.trim()).toBe('44100,2,24');
  });

  it('bare samples, as described, give the same rendering', async () => {
    const options = { format: 'dat-lp-32k', out: join(folder, 'from-wave.wav') };
    const { digests, loudness: heard } = await renderFile(path, options);
    const bare = join(folder, 'song.bin');
    const bytes = readFileSync(path);
    // Without its first letters the file is known by nothing but the description.
    writeFileSync(bare, Buffer.concat([Buffer.from('bare'), bytes.subarray(4)]));
    const raw = `44100:2:s16le:${bytes.indexOf('data') + 8}`;
    const document = await renderFile(bare, { ...options, out: join(folder, 'from-bare.wav'), raw });
    expect([document.digests, document.loudness]).toEqual([digests, heard]);
  });

  it.each([
    ['an unknown format', { format: 'wax-cylinder' }, /no tape format/],
    ['a rate the format does not have', { format: 'dat-lp-32k', rate: '48000' }, /no such rate/],
  ])('refuses %s', async (_, options, message) => {
    await expect(renderFile(path, { ...options, out: join(folder, 'never.wav') })).rejects.toThrow(message);
  });
});
