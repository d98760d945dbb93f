// `examine`: reads each file once for everything: blocks to every detector, both digests. Goes on past a file that cannot be
// read and names it in the document; when none can be read, the first error is the outcome.
import { type Block, describeError, isCancelled, rateHz, type StopSignal, throwIfStopped } from '../base/index.ts';
import { type ExamineDocument, type ExaminedFile, examineDocument, type FailedFile } from '../deliver/index.ts';
import { DETECTORS, Examination, type ExamineResult, isLoss, joinShares, type SecondSource } from '../examine/index.ts';
import { type AudioFile, openAudio } from '../media/index.ts';
import type { TaskContext } from './context.ts';
import { startSide } from './side-examination.ts';
import { isSideDetector } from './side-messages.ts';

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
  const pass = audio.pass({ stop });
  const tell = (block: Block) => {
    for (const tap of taps) tap(block);
    const done = block.start + block.frames;
    progress?.({ stage: `examining ${path}`, done, total: info.frames, unit: 'frames', rateHz: rateHz(info.rate) });
  };
  const { findings, verdicts, detectors } = await examineBlocks(audio, pass.blocks, tell, stop);
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

/** All detectors over one pass, some of them on a second thread where that is worth it. */
async function examineBlocks(
  audio: AudioFile,
  blocks: AsyncIterable<Block>,
  tell: BlockTap,
  stop: StopSignal | undefined,
): Promise<ExamineResult> {
  const side = startSide(audio.info);
  try {
    const own = new Examination(audio.info, DETECTORS, {}, (id) => !side || !isSideDetector(id));
    for await (const block of blocks) {
      await side?.push(block);
      own.push(block);
      tell(block);
    }
    const source = oneAtATime(audio, stop);
    const shares = [own.finishShare(source, stop), ...(side ? [side.finish(source)] : [])];
    return joinShares(await Promise.all(shares));
  } finally {
    await side?.close();
  }
}

/** Both threads look again at the same time; a file is read by one of them at a time. */
function oneAtATime(audio: AudioFile, stop: StopSignal | undefined): SecondSource {
  let last: Promise<unknown> = Promise.resolve();
  return {
    info: audio.info,
    read(start, frames) {
      const read = last.then(() => {
        throwIfStopped(stop);
        return audio.read(start, frames);
      });
      last = read.catch(() => {});
      return read;
    },
  };
}

/** Whether the outcome wants a person: damage to the file, losses in the sound, files that could not be read. */
export function examineNeedsPerson(document: ExamineDocument): boolean {
  return (
    document.failed !== undefined ||
    document.files.some((file) => file.readAs === 'partial' || file.findings.some(isLoss))
  );
}
