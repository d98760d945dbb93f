// `cut --list`: writes the parts of each master, reads them again and proves that together they are the master, sample for sample; only then do they
// appear. The master is only read.
import { createHash } from 'node:crypto';
import { basename, dirname, join, resolve } from 'node:path';
import { type CutLine, type CutList, type CutSet, cutSets } from '../assemble/index.ts';
import { stableJson, TapeproofError } from '../base/index.ts';
import type { CutItem, CutParts } from '../deliver/index.ts';
import { type AudioFile, writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { addSamples, samplesOfParts } from './cut-check.ts';
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
    const jobs = opened.map((audio, m): Omit<Job, 'pathOf'> => {
      const lines = list.lines.filter((line) => line.master === m);
      const copy = marked ? { name: markedName(paths[m]), lines } : null;
      return { audio, path: paths[m], sets: plans[m], names: names[m], copy };
    });
    return await writeStaged(listPath, out, list, jobs, context);
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** Everything appears together or not at all. */
async function writeStaged(
  listPath: string,
  out: string,
  list: CutList,
  jobs: readonly Omit<Job, 'pathOf'>[],
  context: TaskContext,
): Promise<CutParts> {
  const files = [...jobs.flatMap(({ names, copy }) => [...names.flat(), ...(copy ? [copy.name] : [])]), MANIFEST];
  await refuseEarlier(out, files);
  const stage = await stageFolder(out, files, [listPath, ...jobs.map(({ path }) => path)]);
  try {
    const written: CutMaster[] = [];
    for (const [m, job] of jobs.entries()) {
      written.push(await cutMaster({ ...job, pathOf: stage.pathOf }, list.masters[m].audioSha256, context));
    }
    const plans = jobs.map(({ sets }) => sets);
    const document = documentOf(listPath, out, list, written, plans);
    await writeFileSafely(stage.pathOf(MANIFEST), stableJson(document));
    await stage.publish(files, () => false);
    return document;
  } catch (error) {
    await stage.discard();
    throw error;
  }
}

/** Parts of an earlier list are not mixed with those of this one, and nothing is overwritten. */
async function refuseEarlier(out: string, files: readonly string[]): Promise<void> {
  const twice = files.find((name, i) => files.indexOf(name) !== i);
  if (twice !== undefined) {
    const next = 'cut these masters one by one';
    throw new TapeproofError('input', 'two results would have one name', { path: join(out, twice), next });
  }
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
    const again = await samplesOfParts(
      info,
      sets,
      names.map((own) => own.map(pathOf)),
      stop,
    );
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
