// Opens a DAT frame dump as a computer drive wrote it: recognised by its frames, because such a file has no header. A recording whose
// rate changes is several: they are read one by one. Sound whose packing no source tells is refused.
import { type Problem, rate, TapeproofError } from '../../base/index.ts';
import type { AudioFile } from '../audio-file.ts';
import type { ByteFile } from '../byte-file.ts';
import { FramedFile, type FrameSound } from '../framed/framed-file.ts';
import { FRAME_BYTES, isDatFrame } from './dat-frame.ts';
import { DatReporter, decodeDat, MOST_SAMPLES } from './dat-reporter.ts';
import { type DatIndex, type DatSegment, indexDat, SUBCODE_DAMAGED } from './index-dat.ts';

/** Frames that are looked at before a file is called a dump, and how many of them must surely be frames. */
const LOOKED_AT = 8;

/** Whether the first frames are DAT frames: three quarters of them surely, the first of all. */
export async function startsAsDat(file: ByteFile): Promise<boolean> {
  const frames = Math.min(LOOKED_AT, Math.floor(file.size / FRAME_BYTES));
  if (frames === 0) return false;
  const bytes = await file.view(0, frames * FRAME_BYTES);
  const sure = Array.from({ length: frames }, (_, f) => isDatFrame(bytes, f * FRAME_BYTES).isSure);
  return sure[0] && sure.filter(Boolean).length >= 0.75 * frames;
}

/** Undefined when the file is none. `segment` counts from 1. */
export async function openDat(file: ByteFile, options: { readonly segment?: number | undefined }) {
  return (await startsAsDat(file)) ? openFrames(file, options.segment) : undefined;
}

async function openFrames(file: ByteFile, asked: number | undefined): Promise<AudioFile> {
  const index = await indexDat(file);
  const segment = chooseSegment(file, index, asked);
  const { table, rateHz } = segment;
  const problems = problemsOf(index, segment);
  const sound: FrameSound = {
    decode: (f, frame, planes) => decodeDat(frame, table.samplesOf(f), planes),
  };
  return new FramedFile(file, {
    ...{ container: 'dat-frames', table, channels: 2, rate: rate(rateHz), problems },
    isPartial: problems.some(({ severity }) => severity === 'damage'),
    makePlanes: () => [new Int32Array(MOST_SAMPLES), new Int32Array(MOST_SAMPLES)],
    beginSound: () => sound,
    beginPass: () => ({ sound, watch: new DatReporter(segment) }),
  });
}

function chooseSegment({ path }: ByteFile, { segments, unreadable }: DatIndex, asked: number | undefined): DatSegment {
  if (segments.length === 0) {
    const expected = 'two channels of 16 bits';
    const next = 'a deck plays it: capture what the deck puts out';
    const found = [...unreadable.keys()].join(', ');
    throw new TapeproofError('unsupported', 'the sound of these DAT frames cannot be read', {
      path,
      expected,
      found,
      next,
    });
  }
  if (asked !== undefined && (asked < 1 || asked > segments.length)) {
    const expected = `a segment from 1 to ${segments.length}`;
    throw new TapeproofError('input', 'there is no such segment in these frames', {
      path,
      expected,
      found: `${asked}`,
    });
  }
  if (asked === undefined && segments.length > 1) {
    throw new TapeproofError('input', 'the rate changes along the tape: it is several recordings', {
      path,
      expected: 'one sampling rate from beginning to end',
      found: segments.map((segment, i) => `segment ${i + 1}: ${describe(segment)}`).join('; '),
      next: 'read them one by one: --segment 1 and so on (on the sheet: segment: 1)',
    });
  }
  return segments[(asked ?? 1) - 1];
}

function describe({ rateHz, table, firstFrame }: DatSegment): string {
  return `${rateHz} Hz, frames ${firstFrame} to ${firstFrame + table.length - 1}`;
}

function problemsOf({ strayBytes, firstStrayAt, unreadable }: DatIndex, { table }: DatSegment): Problem[] {
  const problems: Problem[] = [];
  if (strayBytes > 0) {
    const message = `${strayBytes} bytes belong to no frame and were left out`;
    problems.push({ id: 'dat-stray-bytes', severity: 'damage', message, offset: firstStrayAt });
  }
  const damaged = table.count(SUBCODE_DAMAGED);
  if (damaged > 0) {
    const message = `${damaged} frames with damaged subcode; their rate was taken from the frames before`;
    problems.push({ id: 'dat-subcode-damaged', severity: 'warning', message });
  }
  for (const [obstacle, frames] of unreadable) {
    const message = `the sound of ${frames} frames cannot be read: ${obstacle}`;
    problems.push({ id: 'dat-unreadable-mode', severity: 'damage', message });
  }
  return problems;
}
