// libltc as independent writer and reader of linear timecode, through a few lines of C of our own.
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { missing, needTool, type Skipping, tempFolder } from '../../media/testing/tools.ts';

const run = promisify(execFile);

export interface JudgedRate {
  readonly count: 24 | 25 | 30;
  readonly isDrop: boolean;
  readonly framesPerSecond: number;
}

export interface JudgedWord {
  /** "hh:mm:ss:ff" */
  readonly timecode: string;
  readonly isDrop: boolean;
  readonly isReverse: boolean;
  readonly userBits: number;
  readonly start: number;
  readonly end: number;
}

export interface LibraryTimecode {
  readonly rate: JudgedRate;
  readonly rateHz: number;
  readonly first: readonly [hours: number, minutes: number, seconds: number, frames: number];
  readonly words: number;
  readonly speed: number;
  readonly isReverse: boolean;
  readonly userBits: number;
}

/** Written by the library: 8 bits, brought to 16. */
export async function writeWithLibrary(context: Skipping, signal: LibraryTimecode): Promise<Int32Array> {
  const judge = await libraryJudge(context);
  const path = join(await tempFolder(), 'ltc.u8');
  const { rate, rateHz, first, words, speed, isReverse, userBits } = signal;
  const numbers = [rateHz, rate.framesPerSecond, rate.count, Number(rate.isDrop), ...first, words];
  await run(judge, ['write', path, ...numbers.map(String), `${speed}`, `${Number(isReverse)}`, `${userBits}`]);
  return Int32Array.from(await readFile(path), (byte) => (byte - 128) * 256);
}

/** As the library reads samples of 16 bits. */
export async function readWithLibrary(
  context: Skipping,
  plane: Int32Array,
  samplesPerFrame: number,
): Promise<JudgedWord[]> {
  const judge = await libraryJudge(context);
  const path = join(await tempFolder(), 'ltc.s16');
  await writeFile(path, Int16Array.from(plane));
  const { stdout } = await run(judge, ['read', path, `${Math.round(samplesPerFrame)}`], { maxBuffer: 2 ** 26 });
  return stdout
    .trim()
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => {
      const [timecode, drop, reverse, user, start, end] = line.split(' ');
      return {
        timecode,
        isDrop: drop === '1',
        isReverse: reverse === '1',
        userBits: Number(user),
        start: Number(start),
        end: Number(end),
      };
    });
}

let built: Promise<string> | undefined;

/** Built once a process: a compiler takes longer than all the words. */
async function libraryJudge(context: Skipping): Promise<string> {
  needTool(context, 'gcc');
  if (!existsSync('/usr/include/ltc.h')) missing(context, 'libltc-dev is not installed');
  built ??= build();
  return built;
}

async function build(): Promise<string> {
  const judge = join(await mkdtemp(join(tmpdir(), 'tapeproof-ltc-judge-')), 'judge');
  await writeFile(`${judge}.c`, LIBRARY_JUDGE);
  await run('gcc', ['-O1', '-o', judge, `${judge}.c`, '-lltc', '-lm']);
  return judge;
}

const LIBRARY_JUDGE = `
#include <ltc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
static int write_words(char **a) {
  FILE *out = fopen(a[0], "wb");
  double rate = atof(a[1]), fps = atof(a[2]), slower = 1 / atof(a[10]);
  int count = atoi(a[3]), drop = atoi(a[4]), words = atoi(a[9]), reverse = atoi(a[11]);
  enum LTC_TV_STANDARD tv = count == 24 ? LTC_TV_FILM_24 : count == 25 ? LTC_TV_625_50 : LTC_TV_525_60;
  LTCEncoder *e = ltc_encoder_create(rate, fps, tv, 0);
  if (!out || !e) return 2;
  ltc_encoder_set_buffersize(e, rate * 12, fps);
  SMPTETimecode t;
  memset(&t, 0, sizeof t);
  t.hours = atoi(a[5]); t.mins = atoi(a[6]); t.secs = atoi(a[7]); t.frame = atoi(a[8]);
  LTCFrame f;
  ltc_encoder_set_timecode(e, &t);
  ltc_encoder_get_frame(e, &f);
  f.dfbit = drop;
  ltc_frame_set_parity(&f, tv);
  ltc_encoder_set_frame(e, &f);
  ltc_encoder_set_user_bits(e, strtoul(a[12], 0, 10));
  for (int n = 0; n < words; n++) {
    for (int b = 0; b < 10; b++) ltc_encoder_encode_byte(e, reverse ? 9 - b : b, reverse ? -slower : slower);
    int size;
    ltcsnd_sample_t *p;
    size = ltc_encoder_get_bufferptr(e, &p, 1);
    fwrite(p, 1, size, out);
    if (reverse) ltc_encoder_dec_timecode(e); else ltc_encoder_inc_timecode(e);
  }
  ltc_encoder_end_encode(e);
  ltcsnd_sample_t *p;
  int size = ltc_encoder_get_bufferptr(e, &p, 1);
  fwrite(p, 1, size, out);
  return fclose(out);
}
static int read_words(char **a) {
  FILE *in = fopen(a[0], "rb");
  LTCDecoder *d = ltc_decoder_create(atoi(a[1]), 256);
  if (!in || !d) return 2;
  short buffer[1024];
  size_t got;
  ltc_off_t at = 0;
  while ((got = fread(buffer, 2, 1024, in)) > 0) {
    ltc_decoder_write_s16(d, buffer, got, at);
    at += got;
    LTCFrameExt f;
    while (ltc_decoder_read(d, &f)) {
      SMPTETimecode t;
      ltc_frame_to_time(&t, &f.ltc, 0);
      printf("%02d:%02d:%02d:%02d %d %d %lu %lld %lld\\n", t.hours, t.mins, t.secs, t.frame, f.ltc.dfbit, !!f.reverse,
        ltc_frame_get_user_bits(&f.ltc), f.off_start, f.off_end);
    }
  }
  return 0;
}
int main(int argc, char **argv) {
  if (argc == 15 && !strcmp(argv[1], "write")) return write_words(argv + 2);
  if (argc == 4 && !strcmp(argv[1], "read")) return read_words(argv + 2);
  return 2;
}
`;
