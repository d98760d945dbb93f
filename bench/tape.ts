// The tape that is measured: eight channels of made music at 48 kHz / 24 bit, read twice with different damage. Cached in
// .cache/bench, because making it takes longer than measuring it. Not a test signal: its sound only has to be music-like.
import { existsSync } from 'node:fs';
import { mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { rate } from '../src/base/index.ts';
import { type AudioWriter, createAudio } from '../src/media/index.ts';
import { Random } from '../src/signal/index.ts';
import { chanceLosses, conceal, damageOf, synthesiseProgramme, tornSpot } from '../src/simulate/index.ts';

export const RATE_HZ = 48_000;
export const CHANNELS = 8;
const BITS = 24;
const SEED = 20_261_125;
const MINUTE = 60 * RATE_HZ;
/** the second read begins so many frames later on the tape */
const LATE_FRAMES = 62_417;
/** goes up when the tape changes, so that an old one is not measured again */
const TAPE_VERSION = 1;

export interface BenchTape {
  readonly minutes: number;
  readonly reads: readonly [string, string];
  readonly sheet: string;
}

export async function makeTape(cache: string, minutes: number, say: (line: string) => void): Promise<BenchTape> {
  const folder = join(cache, `tape-v${TAPE_VERSION}-${minutes}min`);
  const tape: BenchTape = {
    minutes,
    reads: [join(folder, 'read-a.wav'), join(folder, 'read-b.wav')],
    sheet: join(folder, 'sheet.yaml'),
  };
  if (existsSync(tape.sheet)) return tape;
  say(`making a tape of ${minutes} minutes in ${folder}`);
  await mkdir(folder, { recursive: true });
  await writeReads(tape);
  await writeFile(tape.sheet, sheetText());
  return tape;
}

async function writeReads({ reads, minutes }: BenchTape): Promise<void> {
  const { planes } = synthesiseProgramme({
    channels: CHANNELS,
    seconds: 60,
    rate: rate(RATE_HZ),
    bits: BITS,
    seed: SEED,
  });
  const writers = await Promise.all(
    reads.map((path) => createAudio(path, { channels: CHANNELS, rate: rate(RATE_HZ), bits: BITS })),
  );
  const minute = planes.map(() => new Int32Array(MINUTE));
  for (let m = 0; m < minutes; m++) {
    playMinute(planes, minute, m);
    for (const [r, writer] of writers.entries()) await writeMinute(writer, minute, m, r);
  }
  for (const writer of writers) await writer.commit();
}

/** The same minute again, at a gain that glides and with fresh noise of about two 16-bit steps: no stretch repeats. */
function playMinute(base: readonly Int32Array[], out: readonly Int32Array[], m: number): void {
  const gains = new Random(SEED).fork('gains');
  const gainOf = (index: number) => 0.35 + 0.6 * gains.fork(`minute ${index}`).uniform();
  const [from, to] = [gainOf(m), gainOf(m + 1)];
  for (const [c, plane] of base.entries()) {
    const target = out[c];
    let state = (SEED ^ Math.imul(m * CHANNELS + c + 1, 0x9e37_79b1)) | 1;
    for (let i = 0; i < MINUTE; i++) {
      // xorshift32: quick, and good enough for room noise
      state ^= state << 13;
      state ^= state >>> 17;
      state ^= state << 5;
      const noise = ((state & 0x3ff) + ((state >>> 10) & 0x3ff) - 0x3ff) >> 1;
      target[i] = Math.round(plane[i] * (from + ((to - from) * i) / MINUTE)) + noise;
    }
  }
}

/** Each read loses other samples: short losses per channel, and now and then a torn spot in all channels at once. */
async function writeMinute(writer: AudioWriter, minute: readonly Int32Array[], m: number, read: number) {
  const random = new Random(SEED).fork(`read ${read} minute ${m}`);
  const channels = minute.map((_, c) => c + 1);
  const short = chanceLosses(
    { channels, frames: MINUTE, count: 4, minFrames: 1, maxFrames: 40, cause: 'drop-out' },
    random,
  );
  const torn = m % 5 === read ? tornSpot(CHANNELS, 100_000 + random.integer(2_000_000), 2400) : [];
  const { planes } = conceal({ planes: minute }, damageOf(CHANNELS, MINUTE, [short, torn]));
  const skip = read === 1 && m === 0 ? LATE_FRAMES : 0;
  await writer.write({ start: 0, frames: MINUTE - skip, planes: planes.map((plane) => plane.subarray(skip)) });
}

function sheetText(): string {
  const channels = Array.from({ length: CHANNELS }, (_, c) => c + 1).join(', ');
  return [
    'tape: { id: BENCH-1, format: eight-track-8mm, word: 24, rate: 48000 }',
    'captures:',
    `  - { file: read-a.wav, pass: 1, deck: bench-1, recorder: north, channels: [${channels}] }`,
    `  - { file: read-b.wav, pass: 2, deck: bench-2, recorder: north, channels: [${channels}] }`,
    '',
  ].join('\n');
}
