// `cut --list`: writes the parts of each master, reads them again and proves that together they are the master, sample for sample; only then do they
// appear. The master is only read.
import { createHash, type Hash } from 'node:crypto';
import { basename, dirname, join, resolve } from 'node:path';
import { type CutLine, type CutList, type CutSet, cutSets } from '../assemble/index.ts';
import { type Block, DEFAULT_BLOCK_FRAMES, stableJson, TapeproofError, throwIfStopped } from '../base/index.ts';
import type { CutItem, CutParts } from '../deliver/index.ts';
import { type AudioFile, openAudio, writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { type CutListText, parseCutList, startFrame } from './cut-list-text.ts';
import { MarkedCopy, markedName, PartWriters, type WrittenPart } from './part-writers.ts';
import { refuseExisting } from './refuse-existing.ts';
import { stageFolder } from './staged-folder.ts';
import { readTextFile } from './text-file.ts';

export interface CutWriteOptions {
  /** folder of the parts; made when missing */
  readonly out: string;
  /** also a copy of each master with every place marked */
  readonly marked?: boolean | undefined;
}

const MOST_LIST_BYTES = 16 * 1024 * 1024;
const MANIFEST = 'cut.json';

export async function writeCuts(
  listPath: string,
  { out, marked = false }: CutWriteOptions,
  context: TaskContext = {},
): Promise<CutParts> {
  const text = parseCutList(await readTextFile(listPath, 'cut list', MOST_LIST_BYTES), listPath);
  const paths = text.masters.map(({ path }) => resolve(dirname(listPath), path));
  const opened: AudioFile[] = [];
  try {
    for (const path of paths) opened.push(await openCapture(fileSource(path)));
    const list = listOf(text, opened);
    const plans = opened.map(({ info }, m) => cutSets(list, m, { ...info, path: paths[m] }));
    const names = namesOf(list, plans);
    const files = [...names.flat(2), ...(marked ? paths.map(markedName) : []), MANIFEST];
    await refuseEarlier(out, files);
    const stage = await stageFolder(out, files, [listPath, ...paths]);
    try {
      const written: CutMaster[] = [];
      for (const [m, audio] of opened.entries()) {
        const copy = marked
          ? { name: markedName(paths[m]), lines: list.lines.filter((line) => line.master === m) }
          : null;
        const job = { audio, path: paths[m], sets: plans[m], names: names[m], copy, pathOf: stage.pathOf };
        written.push(await cutMaster(job, list.masters[m].audioSha256, context));
      }
      const document = documentOf(listPath, out, list, written, plans);
      await writeFileSafely(stage.pathOf(MANIFEST), stableJson(document));
      await stage.publish(files, () => false);
      return document;
    } catch (error) {
      await stage.discard();
      throw error;
    }
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** Parts of an earlier list are not mixed with those of this one, and nothing is overwritten. */
async function refuseEarlier(out: string, files: readonly string[]): Promise<void> {
  for (const name of files) await refuseExisting(join(out, name));
}

function listOf({ tape, masters, drafts, path }: CutListText, opened: readonly AudioFile[]): CutList {
  const lines = drafts.map(({ line, start, master, ...rest }): CutLine => {
    const index = masters.findIndex((one) => one.path === master);
    if (index < 0) {
      const expected = masters.map((one) => one.path).join(', ');
      throw new TapeproofError('input', 'no such master in the list', { path, line, expected, found: master });
    }
    return {
      ...rest,
      master: index,
      start: startFrame({ line, start, master, ...rest }, path, opened[index].info.rate),
    };
  });
  return { tape, masters, lines };
}

/** [master][set][part] */
function namesOf({ tape, masters }: CutList, plans: readonly (readonly CutSet[])[]): string[][][] {
  const several = plans.reduce((sum, sets) => sum + sets.length, 0) > 1;
  let programme = 0;
  return plans.map((sets, m) =>
    sets.map(({ parts }) => {
      programme++;
      const stem = safeName(tape ?? basename(masters[m].path).replace(/\.[^.]*$/, ''));
      const own = several ? `${stem}-p${programme}` : stem;
      return parts.map((_, i) => `${parts.length > 1 || !several ? `${own}-${`${i + 1}`.padStart(2, '0')}` : own}.wav`);
    }),
  );
}

/** A name from outside as part of a file name. */
function safeName(text: string): string {
  return text.replace(/[^\p{L}\p{N}._-]+/gu, '_').replace(/^[.-]+/, '_') || 'part';
}

interface Job {
  readonly audio: AudioFile;
  readonly path: string;
  readonly sets: readonly CutSet[];
  readonly names: readonly (readonly string[])[];
  readonly copy: { readonly name: string; readonly lines: readonly CutLine[] } | null;
  pathOf(name: string): string;
}

interface CutMaster {
  readonly audio: AudioFile;
  readonly path: string;
  readonly written: readonly (readonly WrittenPart[])[];
  readonly digests: CutParts['masters'][number]['digests'];
  readonly isDigestKnown: boolean;
  readonly samplesSha256: string;
  readonly marked: string | null;
}

async function cutMaster(job: Job, expected: string | null, { stop, progress }: TaskContext): Promise<CutMaster> {
  const { audio, path, sets, names, copy, pathOf } = job;
  const { info } = audio;
  const writers = new PartWriters(info, sets, (s, i) => pathOf(names[s][i]));
  const marks = copy ? await MarkedCopy.create(pathOf(copy.name), info, copy.lines) : null;
  try {
    const samples = createHash('sha256');
    const pass = audio.pass({ stop });
    const tell = tellFrames(progress, `cutting ${info.name}`, info);
    for await (const block of pass.blocks) {
      addSamples(samples, block);
      await writers.write(block);
      await marks?.write(block);
      tell(block);
    }
    const digests = pass.digests();
    requireSame(path, expected, digests.audio.sha256);
    const written = await writers.finish();
    await marks?.finish();
    const samplesSha256 = samples.digest('hex');
    const again = await samplesOfParts(info.channels, info.frames, sets, names, job, stop);
    if (again !== samplesSha256) throw new Error(`the parts of ${path}, read again, are not the master`);
    return {
      audio,
      path,
      written,
      digests,
      isDigestKnown: expected !== null,
      samplesSha256,
      marked: copy?.name ?? null,
    };
  } catch (error) {
    await writers.abort();
    await marks?.abort();
    throw error;
  }
}

function requireSame(path: string, expected: string | null, found: string): void {
  if (expected === null || expected.toLowerCase() === found) return;
  throw new TapeproofError('input', 'this is not the master the cut list was made for', {
    ...{ path, expected: `audio SHA-256 ${expected}`, found },
    next: 'propose the cuts of this master anew, or take the digest out of the list',
  });
}

/** Samples of all channels in the order of the frames, 32 bits each. */
function addSamples(hash: Hash, { planes, frames }: Block): void {
  const words = new Int32Array(planes.length * frames);
  for (const [c, plane] of planes.entries()) {
    for (let i = 0; i < frames; i++) words[i * planes.length + c] = plane[i];
  }
  hash.update(new Uint8Array(words.buffer));
}

/** The parts from their files, put together again into the channels of the master. */
async function samplesOfParts(
  channels: number,
  frames: number,
  sets: readonly CutSet[],
  names: readonly (readonly string[])[],
  { audio, pathOf }: Job,
  stop: TaskContext['stop'],
): Promise<string> {
  const hash = createHash('sha256');
  const files: AudioFile[][] = [];
  try {
    for (const own of names) {
      files.push([]);
      for (const name of own) files[files.length - 1].push(await openAudio(pathOf(name)));
    }
    for (let at = 0; at < frames; at += DEFAULT_BLOCK_FRAMES) {
      throwIfStopped(stop);
      const length = Math.min(DEFAULT_BLOCK_FRAMES, frames - at);
      const planes = Array.from({ length: channels }, () => new Int32Array(length));
      for (const [s, { parts, channels: own }] of sets.entries()) {
        for (const [i, part] of parts.entries()) {
          const from = Math.max(at, part.start);
          const to = Math.min(at + length, part.start + part.length);
          if (from >= to) continue;
          const file = files[s][i];
          // A shorter word stands left-justified in the part's container.
          const shift = file.info.bits - audio.info.bits;
          const block = await file.read(from - part.start, to - from);
          for (const [k, channel] of own.entries()) {
            const plane = block.planes[k];
            for (let f = 0; f < block.frames; f++) planes[channel - 1][from - at + f] = plane[f] >> shift;
          }
        }
      }
      addSamples(hash, { start: at, frames: length, planes });
    }
  } finally {
    for (const file of files.flat()) await file.close();
  }
  return hash.digest('hex');
}

function documentOf(
  listPath: string,
  folder: string,
  { tape, masters: listed }: CutList,
  masters: readonly CutMaster[],
  plans: readonly (readonly CutSet[])[],
): CutParts {
  const several = plans.reduce((sum, sets) => sum + sets.length, 0) > 1;
  let programme = 0;
  const groups = masters.flatMap(({ written }, master) =>
    written.map((parts, s) => ({ parts, master, set: plans[master][s], programme: several ? ++programme : null })),
  );
  const idOf = ({ name }: WrittenPart) => name.replace(/\.wav$/, '');
  const items = groups.flatMap((group): CutItem[] =>
    group.parts.map((part, i) => ({
      id: idOf(part),
      path: part.name,
      ...{ master: group.master, programme: group.programme, channels: group.set.channels },
      ...{ start: group.set.parts[i].start, frames: group.set.parts[i].length },
      ...{ title: group.set.parts[i].title, why: group.set.parts[i].why, marks: group.set.parts[i].marks },
      previous: group.parts[i - 1] ? idOf(group.parts[i - 1]) : null,
      next: group.parts[i + 1] ? idOf(group.parts[i + 1]) : null,
      beside: groups.filter((other) => other !== group).map(({ parts: [first] }) => idOf(first)),
      digests: part.digests,
    })),
  );
  return {
    schema: 'tapeproof/cut-parts@1',
    ...{ tape, list: listPath, folder },
    masters: masters.map(({ audio: { info }, digests, isDigestKnown }, m) => ({
      path: listed[m].path,
      rate: { num: info.rate.num, den: info.rate.den },
      ...{ frames: info.frames, channels: info.channels, isDigestKnown },
      digests: { file: { sha256: digests.file.sha256 }, audio: { sha256: digests.audio.sha256 } },
    })),
    items,
    checks: masters.map(({ samplesSha256, written, audio }, master) => {
      return { master, samplesSha256, frames: audio.info.frames, parts: written.flat().length };
    }),
    marked: masters.flatMap(({ marked }) => marked ?? []),
  };
}
