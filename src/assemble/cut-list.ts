// The cut list: where the programmes of a master begin, one line a programme, to be read and changed by a person. Parts follow from the starts
// alone, so that they abut whatever is changed. Not for finding the starts, nor for files.
import { type Span, TapeproofError } from '../base/index.ts';

export type CutSureness = 'given' | 'sure' | 'likely' | 'possible';

export interface CutMaster {
  /** as the list writes it, relative to the list */
  readonly path: string;
  /** digest of the audio the list was made for; null where a person wrote the list */
  readonly audioSha256: string | null;
}

export interface CutLine {
  /** index into the masters */
  readonly master: number;
  /** 1-based channels of the master; empty: all */
  readonly channels: readonly number[];
  /** first frame of the programme */
  readonly start: number;
  /** false: a place that is marked and not cut */
  readonly isCut: boolean;
  readonly title: string;
  readonly sureness: CutSureness;
  readonly why: string;
}

export interface CutList {
  readonly tape: string | null;
  readonly masters: readonly CutMaster[];
  readonly lines: readonly CutLine[];
}

export interface MasterShape {
  readonly path: string;
  readonly channels: number;
  readonly frames: number;
}

export interface CutPart extends Span {
  readonly channels: readonly number[];
  readonly title: string;
  readonly why: string;
  /** places inside it that are marked */
  readonly marks: readonly { readonly frame: number; readonly title: string; readonly why: string }[];
}

/** Channels that are cut together; their parts abut from the first frame to the last. */
export interface CutSet {
  readonly channels: readonly number[];
  readonly parts: readonly CutPart[];
}

/** Throws `input` where the lines of one master do not make parts that cover it exactly once. */
export function cutSets(list: CutList, master: number, shape: MasterShape): CutSet[] {
  const sets = new Map<string, CutLine[]>();
  for (const line of list.lines.filter((one) => one.master === master)) {
    const channels = channelsOf(line, shape);
    const key = channels.join();
    sets.set(key, [...(sets.get(key) ?? []), { ...line, channels }]);
  }
  requireCover(
    [...sets.values()].map(([{ channels }]) => channels),
    shape,
  );
  return [...sets.values()].map((lines) => ({ channels: lines[0].channels, parts: partsOf(lines, shape) }));
}

function channelsOf({ channels, start }: CutLine, shape: MasterShape): readonly number[] {
  const all = Array.from({ length: shape.channels }, (_, c) => c + 1);
  const wrong = channels.find((channel) => !all.includes(channel));
  if (wrong !== undefined) {
    throw refusal(shape, `the line at frame ${start} names a channel that the master has not`, {
      expected: `1 to ${shape.channels}`,
      found: `${wrong}`,
    });
  }
  if (start >= shape.frames) {
    throw refusal(shape, 'a programme begins behind the end', {
      expected: `a frame before ${shape.frames}`,
      found: `${start}`,
    });
  }
  return channels.length ? [...new Set(channels)].sort((a, b) => a - b) : all;
}

/** Every channel in exactly one set: else the parts would not be the master again. */
function requireCover(sets: readonly (readonly number[])[], shape: MasterShape): void {
  for (let channel = 1; channel <= shape.channels; channel++) {
    const count = sets.filter((channels) => channels.includes(channel)).length;
    if (count === 1) continue;
    throw refusal(shape, `channel ${channel} is in ${count === 0 ? 'no programme' : 'several groups of channels'}`, {
      expected: 'lines whose channels are the same or have none in common, and together are all',
      next: count === 0 ? 'add a line with start 0 for this channel' : 'give lines of one programme the same channels',
    });
  }
}

function partsOf(lines: readonly CutLine[], shape: MasterShape): CutPart[] {
  const sorted = [...lines].sort((a, b) => a.start - b.start);
  const cuts = sorted.filter(({ isCut }) => isCut);
  const [first] = cuts;
  if (first?.start !== 0) {
    throw refusal(shape, `nothing begins at frame 0 on channels ${lines[0].channels.join(', ')}`, {
      expected: 'a first line with start 0: the head of the tape is kept',
      found: first ? `${first.start}` : 'no line that cuts',
    });
  }
  return cuts.map((line, i) => {
    const end = cuts[i + 1]?.start ?? shape.frames;
    if (end === line.start) {
      throw refusal(shape, 'two programmes begin at the same frame', { found: `${line.start}, twice` });
    }
    const marks = sorted.filter(({ isCut, start }) => !isCut && start > line.start && start < end);
    return {
      ...{ start: line.start, length: end - line.start, channels: line.channels, title: line.title, why: line.why },
      marks: marks.map(({ start, title, why }) => ({ frame: start, title, why })),
    };
  });
}

function refusal(
  { path }: MasterShape,
  message: string,
  detail: { expected?: string; found?: string; next?: string },
): TapeproofError {
  return new TapeproofError('input', message, { path, next: 'change the cut list', ...detail });
}
