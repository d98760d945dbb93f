// `cut` without a list: reads each master once and proposes where programmes begin, as a cut list that a person can change. Writes nothing but that
// list.
import { basename, dirname, relative } from 'node:path';
import type { CutLine, CutList, EditList } from '../assemble/index.ts';
import { intersectSpans, mergeSpans, type Rate, rateHz, type Span, spanEnd, TapeproofError } from '../base/index.ts';
import { type CutProposals, cutProposals } from '../deliver/index.ts';
import { type Boundary, ProgrammeFinder } from '../examine/index.ts';
import { type CarrierReport, writeFileSafely } from '../media/index.ts';
import { fileSource, openCapture } from './capture-source.ts';
import { type TaskContext, tellFrames } from './context.ts';
import { type CutMasterFacts, cutListCsv, cutListYaml, isCsvPath } from './cut-list-text.ts';
import { type MasterToCut, mastersToCut } from './cut-masters.ts';
import { readStarts, type Start } from './cut-starts.ts';
import { refuseExisting } from './refuse-existing.ts';

export interface CutOptions {
  /** shortest gap of noise in seconds; default 1 */
  readonly gapSeconds?: number | undefined;
  /** file with given starts, such as start IDs */
  readonly starts?: string | undefined;
  /** where the list goes, CSV or YAML by its name; nothing is written without it */
  readonly write?: string | undefined;
  /** folder of a sheet's result */
  readonly from?: string | undefined;
}

const DEFAULT_GAP_SECONDS = 1;

export async function proposeCuts(
  paths: readonly string[],
  options: CutOptions,
  context: TaskContext = {},
): Promise<CutProposals> {
  if (options.write !== undefined) await refuseExisting(options.write);
  const { tape, masters, programmeChannels } = await mastersToCut(paths, options.from);
  const starts = options.starts === undefined ? [] : await readStarts(options.starts);
  if (starts.length > 0 && masters.length > 1) {
    const next = 'cut one master at a time with --starts';
    throw new TapeproofError('input', 'given starts belong to one master', { path: options.starts ?? '', next });
  }
  const folder = options.write === undefined ? null : dirname(options.write);
  const found: FoundMaster[] = [];
  for (const master of masters) found.push(await proposeFor(master, { programmeChannels, starts, options }, context));
  const list: CutList = {
    tape,
    masters: found.map(({ path, audioSha256 }) => ({
      path: folder === null ? path : relative(folder, path) || basename(path),
      audioSha256,
    })),
    lines: found.flatMap(({ lines }, master) => lines.map((line) => ({ ...line, master }))),
  };
  if (options.write !== undefined) await writeFileSafely(options.write, listText(options.write, list, found));
  return cutProposals(list, found, options.write ?? null);
}

/** Something may have been missed or invented wherever a proposal is not sure. */
export function cutNeedsPerson({ lines }: CutProposals): boolean {
  return lines.some(({ sureness }) => sureness === 'likely' || sureness === 'possible');
}

function listText(path: string, list: CutList, facts: readonly CutMasterFacts[]): string {
  return isCsvPath(path) ? cutListCsv(list, facts) : cutListYaml(list, facts);
}

interface FoundMaster extends CutMasterFacts {
  readonly path: string;
  readonly audioSha256: string;
  readonly rate: Rate;
  readonly channels: number;
  readonly codeChannels: readonly number[];
  readonly lines: readonly Omit<CutLine, 'master'>[];
}

interface Wish {
  readonly programmeChannels: number | null;
  readonly starts: readonly Start[];
  readonly options: CutOptions;
}

async function proposeFor(
  { path, editList }: MasterToCut,
  { programmeChannels, starts, options }: Wish,
  { stop, progress }: TaskContext,
): Promise<FoundMaster> {
  const audio = await openCapture(fileSource(path));
  try {
    const { info } = audio;
    if (info.frames === 0)
      throw new TapeproofError('input', 'the master holds no frames', { path, found: `${info.fileBytes} bytes` });
    const finder = new ProgrammeFinder(info, { gapSeconds: options.gapSeconds ?? DEFAULT_GAP_SECONDS });
    const pass = audio.pass({ stop });
    const tell = tellFrames(progress, `listening to ${info.name}`, info);
    for await (const block of pass.blocks) {
      finder.push(block);
      tell(block);
    }
    const tapeChannels = editList?.channels.map(({ channel }) => channel);
    const sets = channelSets(info.channels, programmeChannels, tapeChannels);
    const { boundaries, codeChannels } = finder.finish(sets, saidByTape(pass.carrier?.()));
    const audioSha256 = pass.digests().audio.sha256;
    const unread = unreadSpans(editList, audioSha256);
    const given = starts.map((start) => ({ frame: start.frameAt(info.rate), title: start.title }));
    const lines = sets.flatMap((channels, s) =>
      linesOf(
        sets.length > 1 ? channels : [],
        boundaries[s].map((one) => doubted(one, unread, info.rate)),
        given,
        info.frames,
      ),
    );
    const { frames, rate, channels } = info;
    return { path, audioSha256, rate, frames, channels, codeChannels, lines };
  } finally {
    await audio.close();
  }
}

/** Frames that no read covers on any channel: the silence there is the master's own. Only of the very master that the list is for. */
function unreadSpans(list: EditList | null, audioSha256: string): readonly Span[] {
  if (list?.audioSha256 !== audioSha256) return [];
  const silent = list.channels.map(({ pieces }) => mergeSpans(pieces.filter(({ source }) => source === null)));
  return silent.reduce((common, spans) => intersectSpans(common, spans));
}

function doubted(boundary: Boundary, unread: readonly Span[], rate: Rate): Boundary {
  const near = 0.1 * rateHz(rate);
  const { frame, why } = boundary;
  if (!unread.some((span) => frame > span.start - near && frame < spanEnd(span) + near)) return boundary;
  return {
    frame,
    sureness: 'possible',
    why: `${why}; but no read covers this place, and its silence is the master's own`,
  };
}

/** Start IDs, recording starts and jumps of the time code that the carrier's own data hold, where the master is a copy of those. */
function saidByTape(report: CarrierReport | undefined): Boundary[] {
  const words: Readonly<Record<string, string>> = {
    'start-id': 'start ID of the tape, programme',
    'recording-start': 'a recording starts by the data of the tape, clock',
    'timecode-jump': "the tape's own time code jumps to",
  };
  return (report?.events ?? []).flatMap(({ kind, start, measured, confidence }): Boundary[] => {
    if (!Object.hasOwn(words, kind)) return [];
    return [{ frame: start, sureness: confidence === 1 ? 'sure' : 'likely', why: `${words[kind]} ${measured}` }];
  });
}

/** All channels, or those of each programme by their numbers on the tape. */
function channelSets(channels: number, perProgramme: number | null, tapeChannels?: readonly number[]): number[][] {
  const all = Array.from({ length: channels }, (_, c) => c + 1);
  if (perProgramme === null) return [all];
  const sets = new Map<number, number[]>();
  for (const channel of all) {
    const programme = Math.ceil((tapeChannels?.[channel - 1] ?? channel) / perProgramme);
    sets.set(programme, [...(sets.get(programme) ?? []), channel]);
  }
  return [...sets].sort(([a], [b]) => a - b).map(([, own]) => own);
}

/** Given starts are cut; what was found is cut from "likely" on where nothing is given, and else only marked. */
function linesOf(
  channels: readonly number[],
  found: readonly Boundary[],
  given: readonly { readonly frame: number; readonly title: string }[],
  frames: number,
): Omit<CutLine, 'master'>[] {
  const head = given.find(({ frame }) => frame === 0);
  const declared = given.filter(({ frame }) => frame > 0 && frame < frames);
  const isNear = (a: number) => declared.some(({ frame }) => frame === a);
  const lines: Omit<CutLine, 'master'>[] = [
    { ...{ channels, start: 0, isCut: true, sureness: 'given' }, title: head?.title ?? '', why: 'the beginning' },
    ...declared.map(
      ({ frame, title }): Omit<CutLine, 'master'> => ({
        ...{ channels, start: frame, isCut: true, title, sureness: 'given', why: 'start given in a list' },
      }),
    ),
    ...found
      .filter(({ frame }) => !isNear(frame))
      .map(
        ({ frame, sureness, why }): Omit<CutLine, 'master'> => ({
          ...{ channels, start: frame, title: '', sureness, why },
          isCut: declared.length === 0 && sureness !== 'possible',
        }),
      ),
  ];
  return lines.sort((a, b) => a.start - b.start);
}
