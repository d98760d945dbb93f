// `align`: where capture files lie on one timeline, from the files alone. Reads each file once for its anchors and again
// only at the places that decide.
import { type Alignment, align, joinTimecode, type TimecodeFacts } from '../align/index.ts';
import type { StopSignal } from '../base/index.ts';
import { type AlignDocument, alignDocument } from '../deliver/index.ts';
import type { AudioFile } from '../media/index.ts';
import { readCode } from './capture-codes.ts';
import { fileSource, openCapture, type ReadOptions } from './capture-source.ts';
import { collectAllAnchors } from './collect-anchors.ts';
import type { TaskContext } from './context.ts';
import { damageLines } from './damage-lines.ts';
import { advised } from './problem-advice.ts';

export interface AlignOptions extends ReadOptions {
  /** index into the files; the first when left out */
  readonly reference?: number | undefined;
}

export async function alignFiles(
  paths: readonly string[],
  { reference, ...reading }: AlignOptions = {},
  context: TaskContext = {},
): Promise<AlignDocument> {
  const { stop, progress } = context;
  const opened: AudioFile[] = [];
  try {
    const sources = paths.map((path) => fileSource(path, reading));
    for (const source of sources) opened.push(await openCapture(source));
    const inputs = opened.map((source) => ({ source }));
    const anchors = await collectAllAnchors(sources, opened, context);
    const placed = await align(inputs, { reference, anchors, stop, progress });
    const alignment = await withTimecode(placed, opened, paths, stop);
    const damage = opened.flatMap(({ info }, i) => damageLines(paths[i], advised(info.problems, info)));
    return alignDocument(paths, alignment, damage);
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** Files are read once more, for timecode, only where samples left them apart. */
async function withTimecode(
  alignment: Alignment,
  opened: readonly AudioFile[],
  paths: readonly string[],
  stop: StopSignal | undefined,
): Promise<Alignment> {
  if (alignment.groups.length < 2) return alignment;
  const facts: TimecodeFacts[] = [];
  for (const [i, audio] of opened.entries()) facts.push(await readCode(audio, { name: paths[i] }, stop));
  const frames = opened.map(({ info }) => info.frames);
  return joinTimecode(alignment, facts, frames);
}

/** A join that was refused, captures that contradict each other, a chain that lost samples, audio that was not read. */
export function alignNeedsPerson({ captures, loops, slips, problems = [] }: AlignDocument): boolean {
  return (
    loops.length > 0 ||
    slips.length > 0 ||
    problems.length > 0 ||
    captures.some(({ group, relation }) => group > 0 || relation !== 'bit-equal')
  );
}
