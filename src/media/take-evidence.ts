// What speaks for and against one file being the continuation of another: time reference, name, size, samples at the joint.
// The confidences are judgements, ordered by what they rest on, not measured frequencies.
import { formatRate, rateHz, sameRate } from '../base/index.ts';
import type { AudioFile, JointEvidence, MediaInfo, TakeJoint } from './audio-file.ts';
import { HEAD_FRAMES, judgeContinuity, TAIL_FRAMES } from './take-continuity.ts';
import { nameLink } from './take-names.ts';

/** What the place of a file in time rests on. */
export type TimedFile = Pick<MediaInfo, 'frames' | 'rate' | 'bext'>;

/** A file with the samples at both of its ends. */
export interface TakeFileEnds {
  readonly path: string;
  readonly info: MediaInfo;
  readonly head: readonly Int32Array[];
  readonly tail: readonly Int32Array[];
}

/** Recorders end a part at 2 GiB (signed sizes) or 4 GiB (unsigned sizes, FAT32), or a little before. */
const SIZE_LIMITS = [2 ** 31, 2 ** 32];
const SIZE_SLACK = 64 * 2 ** 20;
/** A gap longer than this, in seconds, is another take. */
const MOST_GAP_SECONDS = 1;

/** Below this a joint is a guess: told, and not acted on. */
const SURE = 0.8;

/** Whether the evidence is enough to read the two as one without being told to. */
export function isSure({ confidence }: TakeJoint): boolean {
  return confidence >= SURE;
}

/** Reads a few thousand frames at both ends. */
export async function readEnds(path: string, audio: AudioFile): Promise<TakeFileEnds> {
  const { info } = audio;
  const head = await audio.read(0, HEAD_FRAMES);
  const tail = await audio.read(Math.max(0, info.frames - TAIL_FRAMES), TAIL_FRAMES);
  return { path, info, head: head.planes, tail: tail.planes };
}

/** Undefined when nothing joins the two. */
export function judgeJoint(before: TakeFileEnds, after: TakeFileEnds): TakeJoint | undefined {
  if (shapeDifference(before.info, after.info)) return undefined;
  const joint = weighJoint(before, after);
  const isClaimed = joint.evidence.some(({ kind, says }) => kind !== 'continuity' && says === 'joined');
  return isClaimed && joint.confidence > 0 ? joint : undefined;
}

/** All the evidence, whatever it says. The two have one shape. */
export function weighJoint(before: TakeFileEnds, after: TakeFileEnds): TakeJoint {
  const gapFrames = timeGap(before.info, after.info);
  const time = timeEvidence(before.info, after.info, gapFrames);
  const name = nameEvidence(before.path, after.path);
  const size = sizeEvidence(before.info.fileBytes);
  const continuity = continuityEvidence(before, after);
  const evidence = [time, name, size, continuity];
  return {
    before: before.path,
    after: after.path,
    evidence,
    ...(gapFrames === undefined ? {} : { gapFrames }),
    confidence: time.says === 'apart' ? 0 : confidenceOf(time, name, size, continuity, gapFrames),
    isNameOnly: evidence.every(({ kind, says }) => (kind === 'name') === (says === 'joined')),
  };
}

/** Why the two cannot be parts of one take; undefined when they can. */
export function shapeDifference(a: MediaInfo, b: MediaInfo): string | undefined {
  const text = ({ channels, bits, rate, justification = 'left' }: MediaInfo) =>
    `${channels} channels, ${bits} bits, ${formatRate(rate)}${justification === 'right' ? ', right-justified' : ''}`;
  const isSame = a.channels === b.channels && a.bits === b.bits && sameRate(a.rate, b.rate);
  return isSame ? undefined : `${text(a)} and ${text(b)}`;
}

/** Frames between the end of `a` and the start of `b`, round midnight too. Undefined where the files do not tell. */
export function timeGap(a: TimedFile, b: TimedFile): number | undefined {
  const from = a.bext?.timeReference;
  const to = b.bext?.timeReference;
  if (from === undefined || to === undefined || (from === 0 && to === 0)) return undefined;
  const day = Math.round(86_400 * rateHz(a.rate));
  const gap = (((to - from - a.frames) % day) + day) % day;
  return gap > day / 2 ? gap - day : gap;
}

function timeEvidence(a: TimedFile, b: TimedFile, gap: number | undefined): JointEvidence {
  const kind = 'time-reference';
  if (gap === undefined) return { kind, says: 'nothing', detail: 'no time reference in both files' };
  const days = daysBetween(a.bext?.originationDate, b.bext?.originationDate);
  if (days !== undefined && days !== 0 && days !== 1) return { kind, says: 'apart', detail: 'made on different days' };
  if (gap === 0) return { kind, says: 'joined', detail: 'the second begins at the very frame where the first ends' };
  if (-gap >= a.frames + b.frames) return { kind, says: 'apart', detail: 'the second was recorded before the first' };
  if (-gap >= Math.min(a.frames, b.frames) / 2) return { kind, says: 'apart', detail: 'recorded at the same time' };
  const detail = gap > 0 ? `${gap} frames are missing between the two` : `the two overlap by ${-gap} frames`;
  return { kind, says: Math.abs(gap) <= MOST_GAP_SECONDS * rateHz(a.rate) ? 'joined' : 'apart', detail };
}

/** By the time references alone. */
export function isSoonAfter(a: TimedFile, b: TimedFile): boolean {
  return sameRate(a.rate, b.rate) && timeEvidence(a, b, timeGap(a, b)).says === 'joined';
}

function daysBetween(from: string | undefined, to: string | undefined): number | undefined {
  const [a, b] = [from, to].map((date) => Date.parse(`${(date ?? '').replace(/[^0-9]/g, '-')}T00:00:00Z`));
  return Number.isNaN(a) || Number.isNaN(b) ? undefined : Math.round((b - a) / 86_400_000);
}

function nameEvidence(before: string, after: string): JointEvidence {
  const detail = nameLink(before, after);
  return { kind: 'name', says: detail ? 'joined' : 'nothing', detail: detail ?? 'the names are not in sequence' };
}

function sizeEvidence(bytes: number): JointEvidence {
  const limit = SIZE_LIMITS.find((most) => bytes <= most && bytes > most - SIZE_SLACK);
  const detail = limit
    ? `the first ends just below ${limit / 2 ** 30} GiB, where recorders begin a new file`
    : 'the first does not end at a limit of file size';
  return { kind: 'size', says: limit ? 'joined' : 'nothing', detail };
}

function continuityEvidence(before: TakeFileEnds, after: TakeFileEnds): JointEvidence {
  const { says, chance } = judgeContinuity(before.tail, after.head);
  const share = `${(chance * 100).toFixed(1)} % of wrong joints look as good`;
  const details = {
    joined: `the samples go on smoothly; ${share}`,
    apart: 'the samples jump at the joint',
    nothing: `the samples cannot tell: ${share}`,
  };
  return { kind: 'continuity', says, detail: details[says] };
}

function confidenceOf(
  { says: time }: JointEvidence,
  { says: name }: JointEvidence,
  { says: size }: JointEvidence,
  { says: samples }: JointEvidence,
  gap: number | undefined,
): number {
  const isNamed = name === 'joined';
  if (time === 'joined' && gap === 0) {
    if (samples === 'apart') return 0.8;
    return isNamed || samples === 'joined' ? 0.999 : 0.99;
  }
  // Where frames are missing or doubled the samples may well jump.
  if (time === 'joined') return isNamed || size === 'joined' ? 0.8 : 0;
  if (samples === 'apart') return 0;
  if (samples === 'joined') return isNamed ? (size === 'joined' ? 0.98 : 0.95) : 0.7;
  if (!isNamed) return 0;
  return size === 'joined' ? 0.8 : 0.3;
}
