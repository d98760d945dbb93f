// `timecode`: the linear timecode in any channel of each file: addresses, rate, speed, jumps and the map between frames and samples. Goes on past a
// file that cannot be read and names it.
import { rateHz, TapeproofError } from '../base/index.ts';
import {
  type TimecodeChannel,
  type TimecodeDocument,
  type TimecodeFile,
  type TimecodeWordRow,
  timecodeDocument,
} from '../deliver/index.ts';
import type { AudioFile } from '../media/index.ts';
import {
  formatAddress,
  hasEvenZeros,
  readTimecode,
  TimecodeDecoder,
  timecodeSummary,
  unpackWord,
  type WordList,
} from '../signal/index.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { eachFile } from './each-file.ts';

export interface TimecodeOptions extends ReadOptions {
  /** 1-based; all when left out */
  readonly channel?: number | undefined;
  /** every word in the document */
  readonly eachWord?: boolean | undefined;
}

/** Throws the first error when no file could be read. */
export async function timecodeFiles(
  paths: readonly string[],
  options: TimecodeOptions = {},
  context: TaskContext = {},
): Promise<TimecodeDocument> {
  const { done, failed } = await eachFile(
    paths,
    (path) => path,
    (path) => timecodeFile(path, options, context),
  );
  return timecodeDocument(done, failed);
}

/** A file without timecode, or one that could not be read. */
export function timecodeNeedsPerson({ files, failed }: TimecodeDocument): boolean {
  return failed !== undefined || files.some(({ channels }) => channels.length === 0);
}

async function timecodeFile(path: string, options: TimecodeOptions, context: TaskContext): Promise<TimecodeFile> {
  const audio = await openCapture(fileSource(path, options));
  try {
    return await readChannels(audio, path, options, context);
  } finally {
    await audio.close();
  }
}

async function readChannels(
  audio: AudioFile,
  path: string,
  { channel, eachWord = false }: TimecodeOptions,
  { stop, progress }: TaskContext,
): Promise<TimecodeFile> {
  const { info } = audio;
  const wanted = channelsOf(info.channels, channel, path);
  const hz = rateHz(info.rate);
  const decoders = wanted.map((own) => ({ own, decoder: new TimecodeDecoder(hz) }));
  const tell = tellFrames(progress, `reading timecode in ${info.name}`, info);
  for await (const block of audio.blocks({ stop })) {
    for (const { own, decoder } of decoders) decoder.push(block.planes[own - 1]);
    tell(block);
  }
  const channels: TimecodeChannel[] = [];
  for (const { own, decoder } of decoders) {
    const words = decoder.finish();
    const reading = readTimecode(words, hz, info.frames);
    if (!reading) continue;
    const rows = eachWord ? { eachWord: wordRows(words) } : {};
    channels.push({ channel: own, ...timecodeSummary(reading, hz), ...rows });
  }
  const without = wanted.filter((own) => !channels.some((found) => found.channel === own));
  return { path, rate: info.rate, frames: info.frames, channels, without };
}

function channelsOf(count: number, channel: number | undefined, path: string): number[] {
  if (channel === undefined) return Array.from({ length: count }, (_, c) => c + 1);
  if (channel <= count) return [channel];
  throw new TapeproofError('input', 'no such channel', { path, expected: `1 to ${count}`, found: `${channel}` });
}

function wordRows(words: WordList): TimecodeWordRow[] {
  return Array.from({ length: words.length }, (_, i) => {
    const word = words.at(i);
    const { address, isDrop, isColourFrame, user } = unpackWord(word);
    return {
      start: word.start,
      end: word.end,
      timecode: formatAddress(address, isDrop),
      isReverse: word.isReverse,
      isDrop,
      isColourFrame,
      userBits: user.map((digit) => digit.toString(16).toUpperCase()).join(''),
      hasEvenZeros: hasEvenZeros(word),
    };
  });
}
