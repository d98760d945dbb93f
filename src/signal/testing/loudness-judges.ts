// Two independent meters as judges of ours: the ebur128 filter of ffmpeg, and libebur128 through a few lines of C.
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { missing, needTool, type Skipping, tempFolder } from '../../media/testing/tools.ts';

const run = promisify(execFile);

export interface Judgement {
  readonly integrated: number;
  readonly range: number;
  readonly maxMomentary: number;
  readonly maxShortTerm: number;
  /** dBTP per channel */
  readonly truePeaks: readonly number[];
}

export interface JudgedAudio {
  readonly planes: readonly Int32Array[];
  readonly bits: number;
  /** whole: neither judge knows others */
  readonly rateHz: number;
}

/** Looks at the momentary and short-term level every 100 ms only. */
export async function ffmpegLoudness(context: Skipping, audio: JudgedAudio): Promise<Judgement> {
  needTool(context, 'ffmpeg');
  const { channels, input } = await rawFile(audio);
  const filter = 'ebur128=peak=true:metadata=1,ametadata=print:file=-';
  const options = ['-v', 'error', ...input, '-af', filter, '-f', 'null', '-'];
  const { stdout } = await run('ffmpeg', options, { maxBuffer: 2 ** 28 });
  const all = (key: string) => [...stdout.matchAll(new RegExp(`^lavfi\\.r128\\.${key}=(.*)$`, 'gm'))].map((m) => +m[1]);
  const peaks = Array.from({ length: channels }, (_, c) => all(`true_peaks_ch${c}`).at(-1) ?? Number.NaN);
  return {
    integrated: all('I').at(-1) ?? Number.NaN,
    range: all('LRA').at(-1) ?? Number.NaN,
    maxMomentary: Math.max(...all('M')),
    maxShortTerm: Math.max(...all('S')),
    truePeaks: peaks.map((peak) => 20 * Math.log10(peak)),
  };
}

/** Looks every 10 ms. Channels from the third on are told to be heard from the front as well. */
export async function libebur128Loudness(context: Skipping, audio: JudgedAudio): Promise<Judgement> {
  const judge = await libraryJudge(context);
  const { channels, path } = await rawFile(audio);
  const { stdout } = await run(judge, [path, `${channels}`, `${audio.rateHz}`]);
  const [integrated, range, maxMomentary, maxShortTerm, ...peaks] = stdout.trim().split(/\s+/).map(Number);
  return { integrated, range, maxMomentary, maxShortTerm, truePeaks: peaks.map((peak) => 20 * Math.log10(peak)) };
}

async function rawFile({ planes, bits, rateHz }: JudgedAudio) {
  const path = join(await tempFolder(), 'audio.s32');
  const channels = planes.length;
  const samples = new Int32Array(channels * planes[0].length);
  for (const [c, plane] of planes.entries()) {
    for (let i = 0; i < plane.length; i++) samples[i * channels + c] = plane[i] << (32 - bits);
  }
  await writeFile(path, samples);
  return { path, channels, input: ['-f', 's32le', '-ar', `${rateHz}`, '-ac', `${channels}`, '-i', path] };
}

async function libraryJudge(context: Skipping): Promise<string> {
  needTool(context, 'gcc');
  if (!existsSync('/usr/include/ebur128.h')) missing(context, 'libebur128-dev is not installed');
  const folder = await tempFolder();
  const judge = join(folder, 'judge');
  await writeFile(`${judge}.c`, LIBRARY_JUDGE);
  await run('gcc', ['-O1', '-o', judge, `${judge}.c`, '-lebur128', '-lm']);
  return judge;
}

const LIBRARY_JUDGE = `
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
int main(int argc, char **argv) {
  if (argc != 4) return 2;
  FILE *in = fopen(argv[1], "rb");
  unsigned channels = atoi(argv[2]);
  unsigned long rate = atol(argv[3]);
  ebur128_state *st = ebur128_init(channels, rate,
    EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_M | EBUR128_MODE_S | EBUR128_MODE_TRUE_PEAK);
  if (!in || !st) return 2;
  for (unsigned c = 2; c < channels; c++) ebur128_set_channel(st, c, EBUR128_CENTER);
  size_t chunk = rate / 100, got;
  int *buffer = malloc(chunk * channels * sizeof(int));
  double m = -HUGE_VAL, s = -HUGE_VAL, value, i, range;
  while ((got = fread(buffer, sizeof(int) * channels, chunk, in)) > 0) {
    ebur128_add_frames_int(st, buffer, got);
    if (!ebur128_loudness_momentary(st, &value) && value > m) m = value;
    if (!ebur128_loudness_shortterm(st, &value) && value > s) s = value;
  }
  ebur128_loudness_global(st, &i);
  ebur128_loudness_range(st, &range);
  printf("%.6f %.6f %.6f %.6f", i, range, m, s);
  for (unsigned c = 0; c < channels; c++) {
    ebur128_true_peak(st, c, &value);
    printf(" %.9f", value);
  }
  printf("\\n");
  ebur128_destroy(&st);
  return 0;
}
`;
