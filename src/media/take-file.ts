// Reads the parts of one take as one file: positions run on over the joints, digests cover each part and all of them. Nothing is
// put into a gap and nothing is taken out of an overlap: both are told, with their frames, where the files know their time.
import { createHash, type Hash } from 'node:crypto';
import { type Block, emptyBlock, type Problem, type StopSignal, TapeproofError } from '../base/index.ts';
import type { AudioFile, Digests, MediaInfo, Pass, PassOptions, TakeJoint, TakePart } from './audio-file.ts';
import { type CarrierReport, joinedReports, movedReport } from './carrier.ts';
import { type OpenOptions, openAudio } from './open-audio.ts';
import { readEnds, shapeDifference, weighJoint } from './take-evidence.ts';
import { jointProblems } from './take-problems.ts';

export interface TakeOptions extends OpenOptions {
  /** how documents and messages call the parts; their paths when left out */
  readonly partNames?: readonly string[] | undefined;
}

/**
 * Opens the parts in the order given; `name` is that of the take. What speaks for and against each joint is in `info.joints`.
 * Throws `input` when there are none or their channels, rate or word length differ.
 */
export async function openTake(parts: readonly string[], options: TakeOptions = {}): Promise<AudioFile> {
  if (parts.length === 0) throw new TapeproofError('input', 'a take without files', { expected: 'one file or more' });
  const { name, partNames = parts, ...opening } = options;
  const files: AudioFile[] = [];
  try {
    for (const [i, path] of parts.entries()) files.push(await openAudio(path, { ...opening, name: partNames[i] }));
    for (const [i, { info }] of files.entries()) requireSameShape(parts[0], files[0].info, parts[i], info);
    return new TakeFile(partNames, files, await weighJoints(partNames, files), name ?? nameOf(partNames));
  } catch (error) {
    for (const file of files) await file.close();
    throw error;
  }
}

/** By the names the files go by, which say as much as their paths. */
async function weighJoints(names: readonly string[], files: readonly AudioFile[]): Promise<TakeJoint[]> {
  const joints: TakeJoint[] = [];
  let before = await readEnds(names[0], files[0]);
  for (let i = 1; i < files.length; i++) {
    const after = await readEnds(names[i], files[i]);
    joints.push(weighJoint(before, after));
    before = after;
  }
  return joints;
}

function nameOf(parts: readonly string[]): string {
  const more = parts.length - 1;
  return more === 0 ? parts[0] : `${parts[0]} and ${more} more ${more === 1 ? 'part' : 'parts'}`;
}

function requireSameShape(first: string, a: MediaInfo, path: string, b: MediaInfo): void {
  const found = shapeDifference(a, b);
  if (!found) return;
  const next = 'give only the parts of one recording';
  throw new TapeproofError('input', `not a part of the same take as ${first}`, { path, found, next });
}

class TakeFile implements AudioFile {
  readonly #paths: readonly string[];
  readonly #files: readonly AudioFile[];
  readonly #joints: readonly TakeJoint[];
  readonly #name: string;
  #info: MediaInfo;

  constructor(paths: readonly string[], files: readonly AudioFile[], joints: readonly TakeJoint[], name: string) {
    this.#paths = paths;
    this.#files = files;
    this.#joints = joints;
    this.#name = name;
    this.#info = infoOf(paths, files, joints, name);
  }

  get info(): MediaInfo {
    return this.#info;
  }

  async read(start: number, frames: number): Promise<Block> {
    const { channels, frames: total } = this.#info;
    const from = Math.min(Math.max(0, start), total);
    const to = Math.max(from, Math.min(start + frames, total));
    const block = emptyBlock(from, channels, to - from);
    for (const { file, at, end } of this.#places()) {
      if (end <= from || at >= to) continue;
      const part = await file.read(Math.max(0, from - at), Math.min(end, to) - Math.max(at, from));
      for (const [c, plane] of part.planes.entries()) block.planes[c].set(plane, at + part.start - from);
    }
    return block;
  }

  async *blocks(
    options: { blockFrames?: number; start?: number; stop?: StopSignal | undefined } = {},
  ): AsyncGenerator<Block> {
    const start = Math.max(0, options.start ?? 0);
    for (const { file, at, end } of this.#places()) {
      if (end <= start) continue;
      const inside = { ...options, start: Math.max(0, start - at) };
      for await (const block of file.blocks(inside)) yield { ...block, start: block.start + at };
    }
  }

  pass(options: PassOptions = {}): Pass {
    let digests: Digests | undefined;
    let carrier: CarrierReport | undefined;
    return {
      blocks: this.#passBlocks(options, (result, report) => {
        digests = result;
        carrier = report;
      }),
      digests() {
        if (!digests) throw new Error('digests are known only after the last block');
        return digests;
      },
      problems: () => this.#info.problems,
      carrier: () => carrier,
    };
  }

  async close(): Promise<void> {
    for (const file of this.#files) await file.close();
  }

  async *#passBlocks(
    options: PassOptions,
    finish: (digests: Digests, carrier: CarrierReport | undefined) => void,
  ): AsyncGenerator<Block> {
    const hashes = new TakeHashes(options, this.#info.fileBytes);
    const found: (readonly Problem[])[] = [];
    const digests: Digests[] = [];
    const carriers: CarrierReport[] = [];
    for (const { file, at } of this.#places()) {
      const pass = file.pass({ ...options, onBytes: undefined, watch: hashes });
      for await (const block of pass.blocks) yield { ...block, start: block.start + at };
      digests.push(pass.digests());
      found.push(pass.problems());
      const report = pass.carrier?.();
      if (report) carriers.push(movedReport(report, at));
    }
    this.#info = infoOf(this.#paths, this.#files, this.#joints, this.#name, found);
    const parts = digests.map(({ file }, i) => ({ path: this.#paths[i], sha256: file.sha256 }));
    finish({ ...hashes.digests(), parts }, joinedReports(carriers));
  }

  *#places() {
    let at = 0;
    for (const file of this.#files) {
      yield { file, at, end: at + file.info.frames };
      at += file.info.frames;
    }
  }
}

/** Over all parts: what `cat` of the files would give, and what the joined audio would. */
class TakeHashes {
  readonly #whole: Hash = createHash('sha256');
  readonly #audio: Hash = createHash('sha256');
  readonly #options: PassOptions;
  readonly #total: number;
  #done = 0;

  constructor(options: PassOptions, total: number) {
    this.#options = options;
    this.#total = total;
  }

  file(bytes: Uint8Array): void {
    this.#whole.update(bytes);
    this.#options.watch?.file(bytes);
    this.#done += bytes.length;
    this.#options.onBytes?.(this.#done, this.#total);
  }

  audio(bytes: Uint8Array): void {
    this.#audio.update(bytes);
    this.#options.watch?.audio(bytes);
  }

  digests(): Digests {
    return { file: { sha256: this.#whole.digest('hex') }, audio: { sha256: this.#audio.digest('hex') } };
  }
}

/** `found`: the problems of each part after a pass; those known at opening when left out. */
function infoOf(
  paths: readonly string[],
  files: readonly AudioFile[],
  joints: readonly TakeJoint[],
  name: string,
  found: readonly (readonly Problem[])[] = files.map(({ info }) => info.problems),
): MediaInfo {
  const first = files[0].info;
  const own = found.flatMap((problems, i) =>
    problems.map((problem) => ({
      ...problem,
      message: files.length > 1 ? `${paths[i]}: ${problem.message}` : problem.message,
    })),
  );
  const between = joints.flatMap(jointProblems);
  const isWhole =
    files.every(({ info }) => info.readAs === 'whole') && !between.some(({ severity }) => severity === 'damage');
  return {
    ...first,
    name,
    frames: files.reduce((sum, { info }) => sum + info.frames, 0),
    fileBytes: files.reduce((sum, { info }) => sum + info.fileBytes, 0),
    readAs: isWhole ? 'whole' : 'partial',
    problems: [...between, ...own],
    parts: partsOf(paths, files),
    joints,
  };
}

function partsOf(paths: readonly string[], files: readonly AudioFile[]): TakePart[] {
  let start = 0;
  return files.map(({ info: { container, frames, fileBytes } }, i) => {
    const part = { path: paths[i], container, start, frames, fileBytes };
    start += frames;
    return part;
  });
}
