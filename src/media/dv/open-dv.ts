// Opens a DV file: finds its frames, chooses the stretch of one mode that is to be read, and says what is wrong with the rest. A
// recording whose mode changes is several recordings: they are read one by one, never mixed.
import { formatTime, type Problem, rate, TapeproofError } from '../../base/index.ts';
import type { AudioFile, MediaInfo } from '../audio-file.ts';
import type { ByteFile } from '../byte-file.ts';
import { WITHOUT_SOUND } from '../framed/frame-table.ts';
import { FramedFile, type FrameSound } from '../framed/framed-file.ts';
import { findAviDv, isAvi, notDv, soundBeside, truncatedAvi, walkAvi } from './avi.ts';
import { FrameDecoder, lostValueOf } from './decode-frame.ts';
import { isFrameStart } from './dif-identity.ts';
import { channelsOf } from './dv-mode.ts';
import { DvReporter } from './dv-reporter.ts';
import { type DvIndex, type DvSegment, indexFrames } from './frame-index.ts';
import { indexProblems, losesSound } from './index-problems.ts';
import { findQuickTimeDv, isQuickTime, walkQuickTime } from './quicktime.ts';
import { type DifPlace, findStart, walkRaw } from './walk-raw.ts';

export interface DvOptions {
  /** counted from 1, where the mode of the sound changes along the file */
  readonly segment?: number | undefined;
}

/** A stream that was cut out of a longer one begins inside a frame: at most this far on, one begins. */
const LONGEST_LEAD = 300_000;

/** A bare DIF stream, or DV in AVI or QuickTime; undefined when the file is none of them. Throws `unsupported` for a wrapper without DV. */
export async function openDv(file: ByteFile, head: Uint8Array, options: DvOptions): Promise<AudioFile | undefined> {
  if (isAvi(head)) {
    const streams = await findAviDv(file);
    if (!streams) throw notDv(file.path, 'an AVI file');
    return openPlaces(file, 'dv-avi', walkAvi(file, streams), options, [
      ...truncatedAvi(file, head),
      ...soundBeside(streams.soundStreams),
    ]);
  }
  if (await isQuickTime(file)) {
    const movie = await findQuickTimeDv(file);
    if (!movie) throw notDv(file.path, 'a QuickTime or MPEG-4 file');
    const problems = [...soundBeside(movie.soundTracks), ...(movie.tables ? [] : [withoutIndex()])];
    return openPlaces(file, 'dv-quicktime', walkQuickTime(file, movie), options, problems);
  }
  const firstAt = await findRawDv(file);
  return firstAt === undefined ? undefined : openRawDv(file, firstAt, options);
}

/** Whether the file begins as something that `openDv` opens: wrappers by their streams, bare streams only by a frame at byte 0. */
export async function startsAsDv(file: ByteFile, head: Uint8Array): Promise<boolean> {
  if (isAvi(head)) return (await findAviDv(file)) !== undefined;
  if (await isQuickTime(file)) return (await findQuickTimeDv(file))?.tables !== undefined;
  return isFrameStart(await file.view(0, 4096));
}

function withoutIndex(): Problem {
  const message = 'the movie has no index: the recording was broken off. Its frames were searched for';
  return { id: 'dv-no-index', severity: 'warning', message };
}

/** Byte at which the first frame of a bare DIF stream begins; undefined when the file is none. */
async function findRawDv(file: ByteFile): Promise<number | undefined> {
  if (isFrameStart(await file.view(0, 4096))) return 0;
  const most = Math.min(file.size, LONGEST_LEAD);
  const found = await findStart(file, 0, most);
  return found < most ? found : undefined;
}

async function openRawDv(file: ByteFile, firstAt: number, options: DvOptions): Promise<AudioFile> {
  const lead: Problem[] =
    firstAt === 0
      ? []
      : [
          {
            id: 'dv-begins-inside-frame',
            severity: 'damage',
            message: `the stream begins inside a frame: ${firstAt} bytes before the first whole one were left out`,
            offset: 0,
          },
        ];
  return openPlaces(file, 'dv', walkRaw(file, firstAt), options, lead);
}

/** `places`: the frames as the wrapper gives them. */
async function openPlaces(
  file: ByteFile,
  container: MediaInfo['container'],
  places: AsyncIterable<DifPlace>,
  options: DvOptions,
  problems: readonly Problem[],
): Promise<AudioFile> {
  const index = await indexFrames(file, places);
  const segment = chooseSegment(file, index, options.segment);
  const all = [...problems, ...indexProblems(index, segment)];
  const { mode, table } = segment;
  const decoded = channelsOf(mode);
  const channels = mode.word === 12 && !segment.hasSecondPair ? decoded / 2 : decoded;
  return new FramedFile(file, {
    ...{ container, table, channels, rate: rate(mode.rateHz), lostValue: lostValueOf(mode.word) },
    ...{ problems: all, isPartial: all.some(losesSound) },
    makePlanes: () => Array.from({ length: decoded }, () => new Int32Array(mode.system.most[mode.rateHz])),
    beginSound: () => soundOf(segment, new FrameDecoder(mode)),
    beginPass() {
      const decoder = new FrameDecoder(mode);
      return { sound: soundOf(segment, decoder), watch: new DvReporter(segment, channels, decoder) };
    },
  });
}

function soundOf({ table }: DvSegment, decoder: FrameDecoder): FrameSound {
  return {
    decode(f, frame, planes) {
      if (table.flags(f) & WITHOUT_SOUND) decoder.lose(table.samplesOf(f), planes);
      else decoder.decode(frame, table.samplesOf(f), planes, table.delta(f));
    },
  };
}

function chooseSegment(file: ByteFile, index: DvIndex, asked: number | undefined): DvSegment {
  const { segments } = index;
  if (segments.length === 0) throw withoutSound(file, index);
  if (asked !== undefined && (asked < 1 || asked > segments.length)) throw noSuchSegment(file, index, asked);
  if (asked === undefined && segments.length > 1) throw modeChanges(file, index);
  return segments[(asked ?? 1) - 1];
}

function withoutSound({ path }: ByteFile, { frames, unreadable }: DvIndex): TapeproofError {
  const [obstacle] = unreadable.keys();
  const expected = 'frames with 16-bit or 12-bit sound in two or four audio blocks';
  if (obstacle !== undefined)
    return new TapeproofError('unsupported', `the sound of this stream cannot be read: ${obstacle}`, {
      path,
      expected,
    });
  return new TapeproofError('input', 'a DV stream without sound', {
    path,
    expected,
    found: `${frames} frames, none of which says how its sound was recorded`,
    next: 'if the tape has sound, read it again: the auxiliary data of every frame is missing',
  });
}

function modeChanges({ path }: ByteFile, { segments }: DvIndex): TapeproofError {
  return new TapeproofError('input', 'the mode of the sound changes along the stream: it is several recordings', {
    path,
    expected: 'one system, rate, word length and number of channels from beginning to end',
    found: segments.map((segment, i) => `segment ${i + 1}: ${describe(segment)}`).join('; '),
    next: 'read them one by one: --segment 1 and so on (on the sheet: segment: 1)',
  });
}

function noSuchSegment({ path }: ByteFile, { segments }: DvIndex, asked: number): TapeproofError {
  return new TapeproofError('input', 'there is no such segment in this stream', {
    path,
    expected: segments.length === 1 ? 'segment 1, the only one' : `a segment from 1 to ${segments.length}`,
    found: `${asked}`,
  });
}

/** "525/60, 48000 Hz, 16 bit, frames 0 to 899 (0:00:30.030)". */
function describe({ mode, table, firstFrame }: DvSegment): string {
  const { system, rateHz, word } = mode;
  const time = formatTime(table.length, rate(system.frameRate.num, system.frameRate.den));
  return `${system.id}, ${rateHz} Hz, ${word} bit, frames ${firstFrame} to ${firstFrame + table.length - 1} (${time})`;
}
