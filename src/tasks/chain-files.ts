// `chain`: judges a captured chain signal against what was sent and writes the certificate. The sent file is judged first: only the signal as it is written can
// show what a chain does. Not for other recordings (align-files).
import { mkdir, realpath } from 'node:fs/promises';
import { join } from 'node:path';
import { stableJson, TapeproofError, VERSION } from '../base/index.ts';
import { type ChainDocument, type ChainFile, chainHtml, chainText } from '../deliver/index.ts';
import { type ChainJudgement, type ChainSignal, chainSignalFrames, judgeChain } from '../measure/index.ts';
import { type AudioFile, type Digests, writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture, type ReadOptions, readWith } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';

export interface ChainOptions extends ReadOptions {
  readonly captured: string;
  /** the file that was played; without it the capture's own words say what was sent */
  readonly sent?: string | undefined;
  /** channels of the capture, 1-based; without it those that hold the signal */
  readonly channels?: readonly number[] | undefined;
  readonly notes?: readonly string[] | undefined;
  /** ISO 8601: the caller's clock */
  readonly date: string;
  /** folder for JSON, text and page; nothing is written without it */
  readonly out?: string | undefined;
}

export async function judgeChainFiles(options: ChainOptions, context: TaskContext = {}): Promise<ChainDocument> {
  const sent = options.sent === undefined ? undefined : await sentFile(options.sent, options.captured, context);
  const source = fileSource(options.captured, options);
  const audio = await openCapture(source);
  try {
    const digests = await digestsOf(audio, context);
    const channels = options.channels?.map((channel) => channel - 1);
    const judged = await judgeChain(audio, { signal: sent?.signal, channels, ...context });
    const captured = fileOf(options.captured, audio, digests);
    const read = readWith(source);
    const document: ChainDocument = {
      schema: 'tapeproof/chain@1',
      tool: VERSION,
      date: options.date,
      ...documentOf(judged),
      ...(sent ? { sent: sent.file } : {}),
      captured,
      settings: {
        ...(options.channels ? { channels: options.channels } : {}),
        ...(read ? { readWith: read } : {}),
      },
      notes: options.notes ?? [],
      doubts: doubtsOf(captured, sent?.file),
    };
    return options.out === undefined ? document : await writeAll(document, options.out);
  } finally {
    await audio.close();
  }
}

/** Whether anything but a whole, undoubted certificate came out. */
export function chainNeedsPerson({ verdict, doubts }: ChainDocument): boolean {
  return verdict !== 'transparent' || doubts.length > 0;
}

async function sentFile(
  path: string,
  captured: string,
  context: TaskContext,
): Promise<{ readonly file: ChainFile; readonly signal: ChainSignal }> {
  const audio = await openCapture(fileSource(path));
  try {
    if ((await realpath(path)) === (await realpath(captured))) throw sameFile(path);
    const digests = await digestsOf(audio, context);
    const { signal, verdict } = await judgeSent(audio, path, context);
    if (verdict !== 'transparent') throw changedSince(path);
    return { file: fileOf(path, audio, digests), signal };
  } finally {
    await audio.close();
  }
}

async function judgeSent(audio: AudioFile, path: string, context: TaskContext): Promise<ChainJudgement> {
  try {
    return await judgeChain(audio, context);
  } catch (error) {
    if (!(error instanceof TapeproofError) || error.kind !== 'input') throw error;
    throw new TapeproofError('input', 'the sent file is no chain signal', {
      path,
      expected: 'the file that `tapeproof signal chain` wrote and that was played',
      found: error.message,
      next: 'give the sent file first and the captured one second; `tapeproof align` compares other recordings',
      cause: error,
    });
  }
}

function sameFile(path: string): TapeproofError {
  return new TapeproofError('input', 'the sent and the captured file are one and the same', {
    path,
    expected: 'the file that was played, then the file that was recorded',
    next: 'give the capture alone when the sent file is lost: its signal names itself',
  });
}

function changedSince(path: string): TapeproofError {
  return new TapeproofError(
    'input',
    'the sent file is not the signal as it was written: something changed it before it was played',
    {
      path,
      expected: 'every sample as `tapeproof signal chain` writes it',
      found: 'other samples, or not all of them',
      next: 'write the signal again with the same options and play that file; or judge the capture alone',
    },
  );
}

async function digestsOf(audio: AudioFile, { stop, progress }: TaskContext): Promise<Digests> {
  const tell = tellFrames(progress, `reading ${audio.info.name}`, audio.info);
  const pass = audio.pass({ stop });
  for await (const block of pass.blocks) tell(block);
  return pass.digests();
}

function fileOf(path: string, { info }: AudioFile, digests: Digests): ChainFile {
  const { container, rate, bits, channels, frames, problems } = info;
  return { path, container, rate, bits, channels, frames, digests, problems };
}

function documentOf({ signal, ...judged }: ChainJudgement) {
  const { version, bits, rate, cells } = signal;
  return { ...judged, signal: { version, bits, rate, cells, frames: chainSignalFrames(signal) } };
}

function doubtsOf(captured: ChainFile, sent: ChainFile | undefined): string[] {
  return [
    ...(sent && sent.digests.file.sha256 === captured.digests.file.sha256
      ? [
          'The captured file is byte for byte the sent one. A recorder would hardly write the same header: was it captured, or copied?',
        ]
      : []),
    ...captured.problems
      .filter((problem) => problem.severity !== 'note')
      .map((problem) => `The captured file itself: ${problem.message}`),
  ];
}

async function writeAll(document: ChainDocument, folder: string): Promise<ChainDocument> {
  await mkdir(folder, { recursive: true });
  const files = [
    { name: 'chain.html', text: chainHtml(document) },
    { name: 'chain.json', text: stableJson(document) },
    { name: 'chain.txt', text: `${chainText(document)}\n` },
  ];
  for (const { name, text } of files) await writeFileSafely(join(folder, name), text);
  return { ...document, written: files.map(({ name }) => join(folder, name)) };
}
