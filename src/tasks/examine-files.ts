// `examine`: reads each file once for everything: blocks to every detector, both digests. Goes on past a file that cannot be
// read and names it in the document; when none can be read, the first error is the outcome.
import { type Block, HeldOver, heldOverLook, type StopSignal, TapeproofError, throwIfStopped } from '../base/index.ts';
import {
  type CaptureFiles,
  captureFiles,
  type ExamineDocument,
  type ExaminedFile,
  examineDocument,
} from '../deliver/index.ts';
import {
  DETECTORS,
  Examination,
  type ExamineResult,
  type Finding,
  isLoss,
  joinShares,
  type SecondSource,
} from '../examine/index.ts';
import type { AudioFile, CarrierReport, Digests, MediaInfo, Pass } from '../media/index.ts';
import { isTypedStatus } from '../tape/index.ts';
import { isFolder, readAudioFolder } from './audio-folder.ts';
import { type CaptureSource, nameOf, openCapture, type ReadOptions, readWith } from './capture-source.ts';
import { carrierShare, withoutFill } from './carrier-findings.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { eachFile } from './each-file.ts';
import { type PartsRule, sortIntoTakes } from './find-parts.ts';
import { readStatus } from './interface-status.ts';
import { advised } from './problem-advice.ts';
import { startSide } from './side-examination.ts';
import { isSideDetector } from './side-messages.ts';

/** Anything else that wants the same blocks from the same read, such as anchors. */
export type BlockTap = (block: Block) => void;

export interface ExamineOptions extends ReadOptions {
  /** default `auto` */
  readonly parts?: PartsRule | undefined;
}

/** Folders stand for the audio in them. Throws the first error when no file could be read, and the cancel error when stopped. */
export async function examineFiles(
  paths: readonly string[],
  options: ExamineOptions = {},
  context: TaskContext = {},
): Promise<ExamineDocument> {
  const { audio, passedOver } = await openFolders(paths, options);
  const sources = await sortIntoTakes(audio, options.parts ?? 'auto', options);
  refuseSharedLog(sources);
  const { done, failed } = await eachFile(sources, nameOf, (source) => examineSource(source, context));
  return examineDocument(done, failed, passedOver);
}

/** The frames of a log are those of one capture. */
function refuseSharedLog(sources: readonly CaptureSource[]): void {
  const status = sources[0]?.status;
  if (sources.length < 2 || status === undefined || isTypedStatus(status)) return;
  throw new TapeproofError('input', 'one status log for several captures', {
    path: status,
    expected: 'a log with one capture; a status in hex or words may stand for several',
    found: `${sources.length} captures`,
    next: 'examine each with its own log, or write a sheet with status: for each capture',
  });
}

/** In the order given; a file that is named twice, or also lies in a folder that is named, is taken once. */
async function openFolders(paths: readonly string[], { raw }: ExamineOptions) {
  const audio = new Set<string>();
  const passedOver: string[] = [];
  for (const path of paths) {
    if (raw !== undefined || !(await isFolder(path))) audio.add(path);
    else {
      const folder = await readAudioFolder(path);
      for (const file of folder.audio) audio.add(file);
      passedOver.push(...folder.passedOver);
    }
  }
  return { audio: [...audio], passedOver };
}

async function examineSource(source: CaptureSource, context: TaskContext): Promise<ExaminedFile> {
  const audio = await openCapture(source);
  try {
    return await examineOpen(audio, source, context);
  } finally {
    await audio.close();
  }
}

export async function examineOpen(
  audio: AudioFile,
  source: CaptureSource,
  { stop, progress }: TaskContext,
  taps: readonly BlockTap[] = [],
): Promise<ExaminedFile> {
  const { info } = audio;
  const status = source.status === undefined ? undefined : await readStatus(source.status, info);
  const tellDone = tellFrames(progress, `examining ${info.name}`, info);
  const tell = (block: Block) => {
    for (const tap of taps) tap(block);
    tellDone(block);
  };
  const { pass, result } = await examinePass(audio, tell, stop);
  const { findings, verdicts, detectors } = result;
  const problems = advised([...(source.problems ?? []), ...pass.problems()], info);
  const digests = pass.digests();
  const all = [...findings, ...gapFindings(info)];
  const isDamaged = problems.some((problem) => problem.severity === 'damage');
  return {
    path: source.files[0].name,
    container: info.container,
    frames: info.frames,
    channels: info.channels,
    rate: info.rate,
    containerBits: info.containerBits,
    readAs: info.readAs === 'partial' || isDamaged ? 'partial' : 'whole',
    problems,
    digests,
    findings: all,
    verdicts,
    ...(status ? { interface: status.judge({ findings: all, verdicts }) } : {}),
    detectors: detectors.map(({ declined, ...record }) => (declined ? { ...record, notApplicable: declined } : record)),
    ...filesOf(audio.info, source, digests, pass.carrier?.()),
  };
}

function filesOf(
  { parts, joints = [] }: MediaInfo,
  source: CaptureSource,
  digests: Digests,
  report: CarrierReport | undefined,
): CaptureFiles {
  const reading = readWith(source);
  return captureFiles({
    ...(reading ? { readWith: reading } : {}),
    ...(report ? { carrier: report.facts } : {}),
    ...(parts
      ? {
          joints,
          parts: parts.map(({ path, start, frames, fileBytes }, i) => {
            const sha256 = digests.parts?.[i]?.sha256;
            if (sha256 === undefined) throw new Error(`no digest of ${path}`);
            return { path, start, frames, fileBytes, sha256 };
          }),
        }
      : {}),
  });
}

/** Frames that are missing between two parts lie before the first frame of the second. */
function gapFindings({ parts = [], joints = [], channels }: MediaInfo): Finding[] {
  return joints.flatMap(({ gapFrames = 0, before, after }, i): Finding[] =>
    gapFrames <= 0
      ? []
      : [
          {
            ...{ detector: 'take', version: 1, kind: 'gap', confidence: 1, expectedByChance: 0 },
            channels: Array.from({ length: channels }, (_, c) => c + 1),
            ...{ start: parts[i + 1].start, length: 0, measured: gapFrames, expected: 0, unit: 'frames missing' },
            detail: { before, after },
          },
        ],
  );
}

/** All detectors over one pass, some of them on a second thread where that is worth it. */
async function examinePass(
  audio: AudioFile,
  tell: BlockTap,
  stop: StopSignal | undefined,
): Promise<{ pass: Pass; result: ExamineResult }> {
  const side = startSide(audio.info);
  try {
    const pass = audio.pass({ stop, place: side?.place });
    const own = new Examination(audio.info, DETECTORS, {}, (id) => !side || !isSideDetector(id));
    const { info } = audio;
    const held = info.lostValue === undefined ? undefined : new HeldOver(info, info.lostValue);
    for await (const block of pass.blocks) {
      const seen = held?.over(block) ?? block;
      await side?.push(seen);
      own.push(seen);
      tell(block);
    }
    const source = heldOverLook(oneAtATime(audio, stop));
    // The other thread first: this one goes on at once.
    const shares = [...(side ? [side.finish(source)] : []), own.finishShare(source, stop)];
    const report = pass.carrier?.();
    const result = joinShares([carrierShare(report, info.channels), ...(await Promise.all(shares))]);
    return { pass, result: withoutFill(result, report) };
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

/** Whether the outcome wants a person: damage to the file, losses in the sound, flags that contradict it, files that could not be read. */
export function examineNeedsPerson(document: ExamineDocument): boolean {
  return (
    document.failed !== undefined ||
    document.files.some(
      (file) =>
        file.readAs === 'partial' || file.findings.some(isLoss) || (file.interface?.contradictions.length ?? 0) > 0,
    )
  );
}
