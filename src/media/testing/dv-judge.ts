// ffmpeg as the independent judge of DV: makes streams, and decodes the sound of ours. It writes silence where a sample is the
// error code (standards notes 1.4), so it judges undamaged samples only.
import { execFile } from 'node:child_process';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { tempFolder } from './tools.ts';

const run = promisify(execFile);

/** Stereo pairs one after the other, as planes of 16-bit samples. */
export async function ffmpegDvPlanes(
  path: string,
  pairs: number,
  input: readonly string[] = [],
): Promise<Int16Array[]> {
  const planes: Int16Array[] = [];
  for (let pair = 0; pair < pairs; pair++) {
    const options = [
      '-v',
      'error',
      ...input,
      '-i',
      path,
      '-map',
      `0:a:${pair}`,
      '-f',
      's16le',
      '-c:a',
      'pcm_s16le',
      '-',
    ];
    const { stdout } = await run('ffmpeg', options, { encoding: 'buffer', maxBuffer: 2 ** 28 });
    const frames = Math.floor(stdout.length / 4);
    for (let c = 0; c < 2; c++)
      planes.push(Int16Array.from({ length: frames }, (_, i) => stdout.readInt16LE(4 * i + 2 * c)));
  }
  return planes;
}

export interface MadeDv {
  readonly lines: 525 | 625;
  readonly rateHz: number;
  readonly seconds: number;
  /** 50 Mb/s with two stereo pairs */
  readonly is50?: boolean;
}

/** Noise of different seeds in every channel, muxed by ffmpeg. */
export async function ffmpegDv({ lines, rateHz, seconds, is50 }: MadeDv): Promise<string> {
  const path = join(await tempFolder(), 'made.dv');
  const [size, rate] = lines === 525 ? ['720x480', '30000/1001'] : ['720x576', '25'];
  const format = is50 ? 'yuv422p' : lines === 525 ? 'yuv411p' : 'yuv420p';
  const sound = (seed: number) => [
    '-f',
    'lavfi',
    '-i',
    `aevalsrc=0.6*(random(${seed})-0.5)|0.3*sin(700*t):s=${rateHz}`,
  ];
  const maps = ['-map', '0:v', '-map', '1:a', ...(is50 ? ['-map', '2:a'] : [])];
  const picture = ['-f', 'lavfi', '-i', `color=gray:s=${size}:r=${rate}`];
  const how = [
    '-t',
    `${seconds}`,
    '-pix_fmt',
    format,
    '-c:v',
    'dvvideo',
    '-ar',
    `${rateHz}`,
    '-ac',
    '2',
    '-f',
    'dv',
    path,
  ];
  await run('ffmpeg', ['-v', 'error', '-y', ...picture, ...sound(1), ...(is50 ? sound(3) : []), ...maps, ...how]);
  return path;
}
/** The same stream in a wrapper, nothing re-encoded. */
export async function ffmpegWrap(path: string, extension: 'avi' | 'mov', maps: readonly string[]): Promise<string> {
  const out = join(await tempFolder(), `wrapped.${extension}`);
  await run('ffmpeg', ['-v', 'error', '-y', '-f', 'dv', '-i', path, ...maps, '-c', 'copy', out]);
  return out;
}
