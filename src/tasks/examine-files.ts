// `examine`: reads each file once for everything: blocks to every detector, both digests. Goes on past a file that cannot be
// read and names it in the document; when none can be read, the first error is the outcome.
import { type Block, describeError, isCancelled, rateHz } from '../base/index.ts';
import { type ExamineDocument, type ExaminedFile, examineDocument, type FailedFile } from '../deliver/index.ts';
import { DETECTORS, Examination, isLoss } from '../examine/index.ts';
import { type AudioFile, openAudio } from '../media/index.ts';
import type { TaskContext } from './context.ts';

/** Anything else that wants the same blocks from the same read, such as anchors. */
export type BlockTap = (block: Block) => void;

/** Throws the first file's error when no file could be read, and the cancel error when stopped. */
export async function examineFiles(paths: readonly string[], context: TaskContext = {}): Promise<ExamineDocument> {
  const files: ExaminedFile[] = [];
  const failed: FailedFile[] = [];
  let firstError: unknown;
  for (const path of paths) {
    try {
      files.push(await examineFile(path, context));
    } catch (error) {
      if (isCancelled(error)) throw error;
      firstError ??= error;
      failed.push({ path, error: describeError(error) });
    }
  }
  if (files.length === 0 && firstError !== undefined) throw firstError;
  return examineDocument(files, failed);
}

async function examineFile(path: string, context: TaskContext = {}): Promise<ExaminedFile> {
  const audio = await openAudio(path);
  try {
    return await examineOpen(audio, path, context);
  } finally {
    await audio.close();
  }
}

/** `path` is how the document names the file. */
export async function examineOpen(
  audio: AudioFile,
  path: string,
  { stop, progress }: TaskContext,
  taps: readonly BlockTap[] = [],
): Promise<ExaminedFile> {
  const { info } = audio;
  const examination = new Examination(info, DETECTORS);
  const stage = `examining ${path}`;
  const pass = audio.pass({ stop });
  for await (const block of pass.blocks) {
    examination.push(block);
    for (const tap of taps) tap(block);
    progress?.({
      stage,
      done: block.start + block.frames,
      total: info.frames,
      unit: 'frames',
      rateHz: rateHz(info.rate),
    });
  }
  const { findings, verdicts, detectors } = await examination.finish(audio, stop);
  const problems = pass.problems();
  const isDamaged = problems.some((problem) => problem.severity === 'damage');
  return {
    path,
    container: info.container,
    frames: info.frames,
    channels: info.channels,
    rate: info.rate,
    containerBits: info.containerBits,
    readAs: info.readAs === 'partial' || isDamaged ? 'partial' : 'whole',
    problems,
    digests: pass.digests(),
    findings,
    verdicts,
    detectors: detectors.map(({ declined, ...record }) => (declined ? { ...record, notApplicable: declined } : record)),
  };
}

/** Whether the outcome wants a person: damage to the file, losses in the sound, files that could not be read. */
export function examineNeedsPerson(document: ExamineDocument): boolean {
  return (
    document.failed !== undefined ||
    document.files.some((file) => file.readAs === 'partial' || file.findings.some(isLoss))
  );
}
