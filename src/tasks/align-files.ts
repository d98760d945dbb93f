// `align`: where capture files lie on one timeline, from the files alone. Reads each file once for its anchors and again
// only at the places that decide.
import { align } from '../align/index.ts';
import { type AlignDocument, alignDocument } from '../deliver/index.ts';
import { type AudioFile, openAudio } from '../media/index.ts';
import type { TaskContext } from './context.ts';

export interface AlignOptions {
  /** index into the files; the first when left out */
  readonly reference?: number | undefined;
}

export async function alignFiles(
  paths: readonly string[],
  { reference }: AlignOptions = {},
  { stop, progress }: TaskContext = {},
): Promise<AlignDocument> {
  const opened: AudioFile[] = [];
  try {
    for (const path of paths) opened.push(await openAudio(path));
    const inputs = opened.map((source) => ({ source }));
    return alignDocument(paths, await align(inputs, { reference, stop, progress }));
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** A join that was refused, captures that contradict each other, or a chain that lost samples. */
export function alignNeedsPerson({ captures, loops, slips }: AlignDocument): boolean {
  return (
    loops.length > 0 ||
    slips.length > 0 ||
    captures.some(({ group, relation }) => group > 0 || relation !== 'bit-equal')
  );
}
