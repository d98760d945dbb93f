// libdv as independent decoder of DV sound, through a few lines of C of our own: samples with nothing corrected, and its own count of
// samples that carry the error code. Not for 12-bit sound: it drops the lowest bit (standards notes 1.4).
import { execFile } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { missing, needTool, type Skipping, tempFolder } from './tools.ts';

const run = promisify(execFile);

export interface LibdvSound {
  /** left, right */
  readonly planes: readonly [Int32Array, Int32Array];
  /** per frame: samples of a channel, and those that the library calls failed, of both */
  readonly frames: readonly { readonly samples: number; readonly failed: number }[];
}

/** A bare stream of whole frames with two channels. */
export async function libdvSound(context: Skipping, path: string): Promise<LibdvSound> {
  needTool(context, 'gcc');
  if (!existsSync('/usr/include/libdv/dv.h')) missing(context, 'libdv4-dev is not installed');
  built ??= build();
  const out = join(await tempFolder(), 'libdv.s16');
  const { stdout } = await run(await built, [path, out]);
  const bytes = await readFile(out);
  const words = new Int16Array(bytes.buffer, bytes.byteOffset, bytes.length / 2);
  const plane = (c: number) => Int32Array.from({ length: words.length / 2 }, (_, i) => words[2 * i + c]);
  const frames = stdout
    .trim()
    .split('\n')
    .map((line) => {
      const [samples, failed] = line.split(' ').map(Number);
      return { samples, failed };
    });
  return { planes: [plane(0), plane(1)], frames };
}

let built: Promise<string> | undefined;

async function build(): Promise<string> {
  const judge = join(await mkdtemp(join(tmpdir(), 'tapeproof-dv-judge-')), 'judge');
  await writeFile(`${judge}.c`, LIBRARY_JUDGE);
  await run('gcc', ['-O1', '-w', '-o', judge, `${judge}.c`, '-ldv', '-lm']);
  return judge;
}

const LIBRARY_JUDGE = `
#include <libdv/dv.h>
#include <stdio.h>
static unsigned char frame[144000];
static int16_t sound[4][DV_AUDIO_MAX_SAMPLES];
int main(int n, char **a) {
  FILE *in = fopen(a[1], "rb"), *out = fopen(a[2], "wb");
  dv_decoder_t *dv = dv_decoder_new(0, 0, 0);
  if (!in || !out || !dv) return 2;
  dv_set_audio_correction(dv, DV_AUDIO_CORRECT_NONE);
  dv_set_error_log(dv, fopen("/dev/null", "w"));
  int16_t *channels[4] = { sound[0], sound[1], sound[2], sound[3] };
  while (fread(frame, 1, 120000, in) == 120000) {
    if ((frame[3] & 0x80) && fread(frame + 120000, 1, 24000, in) != 24000) break;
    if (dv_parse_header(dv, frame) < 0) return 3;
    if (!dv_decode_full_audio(dv, frame, channels)) return 4;
    int count = dv->audio->samples_this_frame;
    for (int i = 0; i < count; i++) for (int c = 0; c < 2; c++) fwrite(&sound[c][i], 2, 1, out);
    printf("%d %d\\n", count, dv->audio->sample_failure);
  }
  return fclose(out);
}
`;
