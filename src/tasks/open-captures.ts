// Opens capture files, examines each in one read (digests, detectors and anchors from the same blocks) and closes them
// whatever happens. Not for placing or judging.
import { type AnchorSet, beginAnchors } from '../align/index.ts';
import { TapeproofError } from '../base/index.ts';
import type { ExaminedFile } from '../deliver/index.ts';
import type { AudioFile } from '../media/index.ts';
import { type CaptureSource, openCapture } from './capture-source.ts';
import type { TaskContext } from './context.ts';
import { examineOpen } from './examine-files.ts';

export interface OpenCapture {
  readonly source: CaptureSource;
  readonly audio: AudioFile;
  readonly examined: ExaminedFile;
  readonly anchors: AnchorSet;
}

/** Sources are opened read-only. */
export async function withCaptures<T>(
  sources: readonly CaptureSource[],
  context: TaskContext,
  work: (captures: readonly OpenCapture[]) => Promise<T>,
): Promise<T> {
  const opened: AudioFile[] = [];
  try {
    // All are opened before any is read: a missing file is told at once, not after an hour.
    for (const source of sources) {
      opened.push(await openCapture(source));
      requireFrames(source, opened[opened.length - 1]);
    }
    const captures: OpenCapture[] = [];
    for (const [i, audio] of opened.entries()) {
      const anchors = beginAnchors(audio.info);
      const examined = await examineOpen(audio, sources[i], context, [(block) => anchors.push(block)]);
      captures.push({ source: sources[i], audio, examined, anchors: anchors.finish() });
    }
    return await work(captures);
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** Nothing can be placed or compared where there is nothing. */
function requireFrames({ files }: CaptureSource, { info }: AudioFile): void {
  if (info.frames > 0) return;
  throw new TapeproofError('input', 'the capture holds no frames', {
    path: files[0].path,
    found: `${info.fileBytes} bytes`,
    next: 'leave it out, and look for another copy: the recorder wrote no audio into this one',
  });
}
