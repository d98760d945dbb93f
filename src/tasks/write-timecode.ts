// `signal timecode`: linear timecode as a file, to be sent through a deck or recorded beside captures. Overwrites nothing.
import { type Block, parseRate, type Rate, rate, rateHz, TapeproofError, throwIfStopped } from '../base/index.ts';
import type { SignalDocument } from '../deliver/index.ts';
import {
  addressOf,
  frameNumber,
  isAddress,
  type Numbering,
  packWord,
  parseAddress,
  writeTimecode,
} from '../signal/index.ts';
import type { TaskContext } from './context.ts';
import { refuseExisting } from './refuse-existing.ts';
import { writeMaster } from './write-master.ts';

export interface TimecodeSignalOptions {
  readonly out: string;
  readonly rate?: string | undefined;
  readonly bits?: number | undefined;
  /** default 60 */
  readonly seconds?: number | undefined;
  /** first address; a semicolon before the frames means drop. Default 01:00:00:00 */
  readonly from?: string | undefined;
  /** one of FRAME_RATES; default 25, with drop 29.97 */
  readonly fps?: string | undefined;
  /** eight hexadecimal digits */
  readonly user?: string | undefined;
}

const FRAME_RATES: Readonly<Record<string, { readonly count: Numbering['count']; readonly rate: Rate }>> = {
  '23.976': { count: 24, rate: rate(24_000, 1001) },
  '24': { count: 24, rate: rate(24) },
  '25': { count: 25, rate: rate(25) },
  '29.97': { count: 30, rate: rate(30_000, 1001) },
  '30': { count: 30, rate: rate(30) },
};
const LEVEL_DB = -9;
/** Words made at a time. */
const WORDS = 250;

export async function writeTimecodeSignal(
  options: TimecodeSignalOptions,
  { stop, progress }: TaskContext = {},
): Promise<SignalDocument> {
  const code = codeOf(options);
  const [at, bits, seconds] = [parseRate(options.rate ?? '48000'), options.bits ?? 24, options.seconds ?? 60];
  if (![16, 20, 24].includes(bits)) throw refusal('no such word length', '16, 20 or 24', `${bits}`);
  await refuseExisting(options.out);
  const words = Math.ceil(seconds * rateHz(code.rate));
  const perWord = rateHz(at) / rateHz(code.rate);
  // The last word ends with an edge, which the beginning of a further one makes.
  const tail = Math.ceil(rateHz(at) / 1000);
  const frames = Math.round(words * perWord) + tail;
  async function* blocks(): AsyncGenerator<Block> {
    for (let word = 0; word < words; word += WORDS) {
      throwIfStopped(stop);
      const count = Math.min(WORDS, words - word);
      const behind = word + count === words ? tail : 0;
      const block = wordsFrom(code, { word, count, behind }, perWord, bits);
      yield block;
      progress?.({ stage: `writing ${options.out}`, done: block.start + block.frames, total: frames, unit: 'frames' });
    }
  }
  const written = await writeMaster(options.out, { channels: 1, rate: at, bits }, blocks());
  return {
    schema: 'tapeproof/signal@1',
    ...{ signal: 'timecode', path: options.out, rate: at, bits, channels: 1, frames: written.frames },
    digests: written.digests,
    sections: [{ id: code.name, start: 0, length: written.frames, channel: 1, levelDb: LEVEL_DB }],
    warnings: ['Timecode is loud and shrill: turn monitors off before playing it.'],
  };
}

interface Code {
  readonly name: string;
  readonly numbering: Numbering;
  readonly rate: Rate;
  readonly first: number;
  readonly user: readonly number[];
}

function codeOf({ from = '01:00:00:00', fps, user = '00000000' }: TimecodeSignalOptions): Code {
  const start = parseAddress(from);
  if (!start) throw refusal('this is no timecode', '01:00:00:00, or 01:00:00;00 with drop', from);
  const { isDrop, address } = start;
  const name = fps ?? (isDrop ? '29.97' : '25');
  const known = Object.hasOwn(FRAME_RATES, name) ? FRAME_RATES[name] : undefined;
  if (!known) throw refusal('no such rate of frames', Object.keys(FRAME_RATES).join(', '), name);
  if (isDrop && known.count !== 30) throw refusal('only 30 frames are counted with drop', '29.97 or 30', name);
  const numbering = { count: known.count, isDrop };
  if (!isAddress(address, numbering)) throw refusal('this numbering has no such frame', `a frame of ${name}`, from);
  if (!/^[0-9a-f]{8}$/i.test(user)) throw refusal('these are no user bits', 'eight hexadecimal digits', user);
  const digits = [...user].map((digit) => Number.parseInt(digit, 16));
  return {
    name: `${from}, ${name}`,
    numbering,
    rate: known.rate,
    first: frameNumber(address, numbering),
    user: digits,
  };
}

/** With a word on either side, so that the edges at the joints are whole; every word begins on the same side of zero. */
function wordsFrom(
  code: Code,
  { word, count, behind }: { readonly word: number; readonly count: number; readonly behind: number },
  perWord: number,
  bits: number,
): Block {
  const { numbering, first, user } = code;
  const base = Math.floor((word - 1) * perWord);
  const words = Array.from({ length: count + 2 }, (_, i) => {
    const address = addressOf(first + word - 1 + i, numbering);
    return packWord({ address, isDrop: numbering.isDrop, user }, numbering.count);
  });
  const { samples } = writeTimecode(words, {
    ...{ rateHz: perWord * rateHz(code.rate), framesPerSecond: rateHz(code.rate) },
    leadFrames: (word - 1) * perWord - base,
    peak: (2 ** (bits - 1) - 1) * 10 ** (LEVEL_DB / 20),
  });
  const [from, to] = [Math.round(word * perWord), Math.round((word + count) * perWord) + behind];
  return {
    start: from,
    frames: to - from,
    planes: [Int32Array.from(samples.subarray(from - base, to - base), Math.round)],
  };
}

function refusal(message: string, expected: string, found: string): TapeproofError {
  return new TapeproofError('input', message, { expected, found });
}
