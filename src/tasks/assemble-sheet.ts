// `assemble`: master and edit list from a transfer sheet without a report, or the identical master once more from an edit
// list. The digest stored in the list decides whether the rendering is the same.
import { dirname, join, resolve } from 'node:path';
import { type EditList, type EditSource, renderEditList, validateEditList } from '../assemble/index.ts';
import { type FrameSource, rateHz, TapeproofError } from '../base/index.ts';
import type { AudioFile } from '../media/index.ts';
import { type CaptureSource, openCapture, readingOf } from './capture-source.ts';
import type { TaskContext } from './context.ts';
import { damageLines } from './damage-lines.ts';
import { withCaptures } from './open-captures.ts';
import { loadSheet } from './sheet.ts';
import { captureSources } from './sheet-captures.ts';
import { stageFolder } from './staged-folder.ts';
import { readTextFile } from './text-file.ts';
import { editListName, masterName, transfer } from './transfer.ts';
import { writeMaster } from './write-master.ts';

export interface AssembledMaster {
  readonly path: string;
  readonly editList: string;
  readonly container: string;
  readonly bits: number;
  readonly frames: number;
  readonly channels: readonly number[];
  readonly digests: { readonly file: { readonly sha256: string }; readonly audio: { readonly sha256: string } };
  readonly tallies: readonly {
    readonly channel: number;
    readonly proven: number;
    readonly chosen: number;
    readonly unproven: number;
    readonly lost: number;
  }[];
}

export interface AssembleDocument {
  readonly schema: 'tapeproof/assemble@1';
  readonly masters: readonly AssembledMaster[];
  readonly problems: readonly string[];
  /** only there when an edit list was rendered again: equal to the digest in the list, or the task fails */
  readonly renderedAgain?: true;
}

/** An edit list of a long, badly damaged tape is large, but not larger than this. */
const MOST_LIST_BYTES = 512 * 1024 * 1024;

export async function assembleSheet(
  path: string,
  { out }: { readonly out: string },
  context: TaskContext = {},
): Promise<AssembleDocument> {
  return path.toLowerCase().endsWith('.json') ? renderAgain(path, out, context) : assembleNew(path, out, context);
}

export function assembleNeedsPerson({ masters, problems }: AssembleDocument): boolean {
  return (
    problems.length > 0 ||
    masters.length > 1 ||
    masters.some((m) => m.tallies.some((t) => t.unproven > 0 || t.lost > 0))
  );
}

async function assembleNew(sheetPath: string, out: string, context: TaskContext): Promise<AssembleDocument> {
  const sheet = await loadSheet(sheetPath);
  const names = sheet.captures.flatMap((_, group) => [masterName(group), editListName(group)]);
  const sources = await captureSources(sheet);
  const paths = sources.flatMap(({ files }) => files.map(({ path }) => path));
  const stage = await stageFolder(out, names, [sheet.path, ...paths]);
  try {
    const { result, damage } = await withCaptures(sources, context, async (captures) => ({
      damage: captures.flatMap(({ examined }) => damageLines(examined.path, examined.problems)),
      result: await transfer(sheet.tape.id, captures, sheet.captures, { folder: out, pathOf: stage.pathOf }, context),
    }));
    await stage.publish(
      result.groups.flatMap((group) => [group.masterName, group.editListName]),
      (name) => /^(master|edit-list)(-\d+)?\.(wav|json)$/.test(name),
    );
    return {
      schema: 'tapeproof/assemble@1',
      masters: result.groups.map(({ master, masterName: name, editListName: list, plan, tallies }) => ({
        path: join(out, name),
        editList: join(out, list),
        ...{ container: master.container, bits: master.bits, frames: plan.frames },
        channels: plan.channels.map(({ channel }) => channel),
        digests: master.digests,
        tallies,
      })),
      problems: [...damage, ...result.contradictions, ...result.problems, ...refusals(result.alignment)],
    };
  } catch (error) {
    await stage.discard();
    throw error;
  }
}

function refusals({
  groups,
  placements,
}: {
  groups: readonly unknown[];
  placements: readonly { group: number; reason: string }[];
}) {
  return groups.length > 1 ? placements.filter((p) => p.group > 0).map((p) => `not joined: ${p.reason}`) : [];
}

async function renderAgain(listPath: string, out: string, context: TaskContext): Promise<AssembleDocument> {
  const list = await readList(listPath);
  const folder = dirname(resolve(listPath));
  const captures = list.sources.map((source) => sourceOf(source, folder));
  const paths = captures.flatMap(({ files }) => files.map(({ path }) => path));
  const stage = await stageFolder(out, [masterName(0)], [listPath, ...paths]);
  const opened: AudioFile[] = [];
  try {
    for (const capture of captures) opened.push(await openCapture(capture));
    for (const [i, audio] of opened.entries()) checkSource(list, i, audio, captures[i].files[0].path);
    const sources: readonly FrameSource[] = opened;
    const format = { channels: list.channels.length, rate: list.rate, bits: list.bits };
    const { stop, progress } = context;
    const hz = rateHz(list.rate);
    const told = progress && {
      progress: (event: Parameters<typeof progress>[0]) => progress({ ...event, rateHz: hz }),
    };
    const blocks = renderEditList(list, sources, { stop, ...told });
    const master = await writeMaster(stage.pathOf(masterName(0)), format, blocks);
    if (master.digests.audio.sha256 !== list.audioSha256) throw notTheSame(listPath, list, master.digests.audio.sha256);
    await stage.publish([masterName(0)], () => false);
    return {
      schema: 'tapeproof/assemble@1',
      masters: [
        {
          ...{ path: join(out, masterName(0)), editList: listPath, container: master.container, bits: master.bits },
          ...{ frames: list.frames, channels: list.channels.map(({ channel }) => channel), digests: master.digests },
          tallies: [],
        },
      ],
      problems: [],
      renderedAgain: true,
    };
  } catch (error) {
    await stage.discard();
    throw error;
  } finally {
    for (const audio of opened) await audio.close();
  }
}

/** The same files, read the same way. */
function sourceOf({ path, parts = [], raw, trailing, segment }: EditSource, folder: string): CaptureSource {
  const paths = parts.length > 0 ? parts.map((part) => part.path) : [path];
  const files = paths.map((name) => ({ name, path: resolve(folder, name) }));
  return { files, ...readingOf({ raw, trailing, segment }) };
}

async function readList(path: string): Promise<EditList> {
  const text = await readTextFile(path, 'edit list', MOST_LIST_BYTES);
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (cause) {
    const found = cause instanceof Error ? cause.message : String(cause);
    throw new TapeproofError('input', 'not an edit list: not JSON', { path, found, cause });
  }
  return validateEditList(json);
}

function checkSource(list: EditList, i: number, { info }: AudioFile, path: string): void {
  const { frames, channels, bits } = list.sources[i];
  if (info.frames === frames && info.channels === channels && info.bits === bits) return;
  throw new TapeproofError('input', 'this is not the capture that the edit list was made from', {
    path,
    expected: `${frames} frames, ${channels} channels, ${bits} bits`,
    found: `${info.frames} frames, ${info.channels} channels, ${info.bits} bits`,
    next: 'put the original capture in its place',
  });
}

function notTheSame(path: string, list: EditList, found: string): TapeproofError {
  return new TapeproofError('input', 'rendering the edit list did not give the master it was made with', {
    path,
    expected: `audio sha256 ${list.audioSha256}`,
    found: `audio sha256 ${found}`,
    next: 'a capture has changed since: compare the digests of the captures with those in the list',
  });
}
