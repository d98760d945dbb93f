// The main job between opened captures and written masters: place, reconcile, write one master and edit list per timeline.
// Shared by `run`, `assemble` and `reconcile`; the report is made elsewhere.
import { relative } from 'node:path';
import {
  type AlignInput,
  type Alignment,
  align,
  joinTimecode,
  type Placement,
  type TimecodeFacts,
  timecodeContradictions,
} from '../align/index.ts';
import { buildEditList, type EditList, type EditSource } from '../assemble/index.ts';
import { rateHz, stableJson } from '../base/index.ts';
import { writeFileSafely } from '../media/index.ts';
import {
  type PairAgreement,
  type ProvenanceRun,
  planReconcile,
  type ReconcileCapture,
  type ReconcilePlan,
  reconcile,
} from '../reconcile/index.ts';
import { codeOf, missingCode } from './capture-codes.ts';
import { joinStarts, startContradictions } from './common-starts.ts';
import type { TaskContext } from './context.ts';
import { joinDeclared } from './declared-offsets.ts';
import { findMislabelled } from './mislabelled.ts';
import type { OpenCapture } from './open-captures.ts';
import { type Master, writeMaster } from './write-master.ts';

/** What is known of a capture besides its samples. */
export interface CaptureFacts {
  readonly pass: number;
  /** tape channel of each file channel; undefined: not known, channels are numbered as in the file */
  readonly channels?: readonly number[] | undefined;
  readonly offset?: number | null | undefined;
  /** captures of one pass with the same word began together */
  readonly starts?: string | null | undefined;
  /** file channel that carries timecode by the sheet */
  readonly timecode?: number | null | undefined;
}

export interface TransferGroup {
  readonly plan: ReconcilePlan;
  readonly runs: readonly ProvenanceRun[];
  readonly agreement: readonly PairAgreement[];
  readonly tallies: readonly {
    readonly channel: number;
    readonly proven: number;
    readonly chosen: number;
    readonly unproven: number;
    readonly lost: number;
  }[];
  readonly master: Master;
  readonly masterName: string;
  readonly editList: EditList;
  readonly editListName: string;
}

export interface Transfer {
  readonly alignment: Alignment;
  readonly groups: readonly TransferGroup[];
  /** what was kept out of the masters, and why */
  readonly problems: readonly string[];
  /** where the sheet and the samples say different things */
  readonly contradictions: readonly string[];
  /** per capture: tape channel of each file channel, as it was used */
  readonly channels: readonly (readonly number[])[];
}

/** Names of the results of group 0 and of those that could not be joined to it. */
export function masterName(group: number): string {
  return group === 0 ? 'master.wav' : `master-${group + 1}.wav`;
}

export function editListName(group: number): string {
  return group === 0 ? 'edit-list.json' : `edit-list-${group + 1}.json`;
}

export async function placeCaptures(
  captures: readonly OpenCapture[],
  facts: readonly CaptureFacts[],
  { stop, progress }: TaskContext,
): Promise<Alignment> {
  const inputs = captures.map(({ audio }, i): AlignInput => {
    const { pass, channels } = facts[i];
    return { source: audio, pass, ...(channels ? { channels } : {}) };
  });
  const alignment = await align(inputs, { anchors: captures.map((capture) => capture.anchors), stop, progress });
  const frames = captures.map(({ audio }) => audio.info.frames);
  const declared = joinDeclared(
    joinStarts(alignment, facts, frames),
    facts.map((fact) => fact.offset ?? null),
    frames,
  );
  return joinTimecode(declared, codesOf(captures, facts), frames);
}

function codesOf(captures: readonly OpenCapture[], facts: readonly CaptureFacts[]): TimecodeFacts[] {
  return captures.map(({ audio, examined }, i) => {
    const { pass, timecode: channel } = facts[i];
    return codeOf(audio, examined.verdicts, { name: examined.path, pass, channel });
  });
}

export interface Destination {
  /** where the results will end up; paths in the edit list are relative to it */
  readonly folder: string;
  /** where a result is written for now */
  pathOf(name: string): string;
  /** leave out what cannot be joined to the first capture */
  readonly firstGroupOnly?: boolean;
}

/** Writes the master and edit list of every group. */
export async function transfer(
  tape: string,
  captures: readonly OpenCapture[],
  facts: readonly CaptureFacts[],
  where: Destination,
  context: TaskContext,
): Promise<Transfer> {
  const { alignment, facts: labelled, contradictions } = await placeByLabels(captures, facts, context);
  const reads = captures.map(({ audio, examined }, i): ReconcileCapture => {
    const channels = labelled[i].channels ?? audio.info.channels;
    return {
      source: audio,
      pass: facts[i].pass,
      channels: typeof channels === 'number' ? Array.from({ length: channels }, (_, c) => c + 1) : channels,
      findings: examined.findings.map(({ detail, ...finding }) => ({
        ...finding,
        ...(typeof detail.pattern === 'string' ? { pattern: detail.pattern } : {}),
        ...(typeof detail.guardBeforeFrames === 'number' ? { guardBefore: detail.guardBeforeFrames } : {}),
        ...(typeof detail.guardAfterFrames === 'number' ? { guardAfter: detail.guardAfterFrames } : {}),
      })),
    };
  });
  contradictions.push(...startContradictions(alignment, facts, (i) => captures[i].examined.path));
  const codes = codesOf(captures, facts);
  contradictions.push(...timecodeContradictions(alignment, codes));
  contradictions.push(...codes.flatMap((code, i) => missingCode(code, facts[i].timecode)));
  const groups: TransferGroup[] = [];
  const problems: string[] = [];
  const standing = standAlone(alignment, captures);
  for (const group of alignment.groups.keys()) {
    if (group > 0 && where.firstGroupOnly) break;
    const plan = planReconcile(reads, standing, group);
    problems.push(...plan.problems);
    if (plan.channels.length === 0 || plan.frames === 0) continue;
    const written = await writeGroup(tape, { captures, reads, alignment: standing, plan }, where, context);
    contradictions.push(...disagreements(captures, written.agreement));
    groups.push(written);
  }
  return { alignment, groups, problems, contradictions, channels: reads.map((read) => read.channels) };
}

/** Places by the sheet's labels; where they cannot be right, by what the samples say of them. */
async function placeByLabels(captures: readonly OpenCapture[], facts: readonly CaptureFacts[], context: TaskContext) {
  const alignment = await placeCaptures(captures, facts, context);
  const wrong = await findMislabelled(captures, facts, alignment, context);
  if (wrong.length === 0) return { alignment, facts, contradictions: [] as string[] };
  const corrected = facts.map((fact, i) => {
    const found = wrong.find(({ capture }) => capture === i);
    return found ? { ...fact, channels: found.channels } : fact;
  });
  return {
    alignment: await placeCaptures(captures, corrected, context),
    facts: corrected,
    contradictions: wrong.map(({ reason }) => reason),
  };
}

/** Two reads of one channel that hardly ever agree are hardly reads of one channel. */
function disagreements(captures: readonly OpenCapture[], agreement: readonly PairAgreement[]): string[] {
  return agreement
    .filter(({ comparedFrames, equalFrames }) => comparedFrames > 1000 && equalFrames < comparedFrames / 4)
    .map(({ channel, a, b, comparedFrames, equalFrames }) => {
      const name = ({ capture, fileChannel }: typeof a) =>
        `${captures[capture].examined.path} (channel ${fileChannel})`;
      const share = ((100 * equalFrames) / comparedFrames).toFixed(1);
      return `channel ${channel}: ${name(a)} and ${name(b)} agree in only ${share} % of the frames: perhaps not the same tape channel`;
    });
}

/** A capture that nothing could be joined to is kept as a master of its own, on its own timeline: no audio is dropped. */
function standAlone(alignment: Alignment, captures: readonly OpenCapture[]): Alignment {
  const placements = alignment.placements.map((placement): Placement => {
    const isAlone = alignment.groups[placement.group].length === 1 && placement.segments.length === 0;
    if (!isAlone) return placement;
    const { frames } = captures[placement.capture].audio.info;
    return { ...placement, relation: 'bit-equal', segments: [{ start: 0, length: frames, offset: 0 }] };
  });
  return { ...alignment, placements };
}

interface GroupInput {
  readonly captures: readonly OpenCapture[];
  readonly reads: readonly ReconcileCapture[];
  readonly alignment: Alignment;
  readonly plan: ReconcilePlan;
}

async function writeGroup(
  tape: string,
  { captures, reads, alignment, plan }: GroupInput,
  where: Destination,
  { stop, progress }: TaskContext,
): Promise<TransferGroup> {
  const session = reconcile(reads, alignment, plan, { stop, progress: progress && timed(progress, rateHz(plan.rate)) });
  const name = masterName(plan.group);
  const format = { channels: plan.channels.length, rate: plan.rate, bits: plan.bits, frames: plan.frames };
  const master = await writeMaster(where.pathOf(name), format, session.blocks());
  const runs = session.runs();
  const sources = captures.map((capture) => editSource(capture, where.folder));
  const digest = master.digests.audio.sha256;
  const editList = buildEditList({ tape }, sources, plan, runs, alignment, reads, digest);
  await writeFileSafely(where.pathOf(editListName(plan.group)), stableJson(editList));
  return {
    plan,
    runs,
    agreement: session.agreement(),
    tallies: session.tallies(),
    master,
    masterName: name,
    editList,
    editListName: editListName(plan.group),
  };
}

/** A take is named by its first part; each part stands with its own digest. */
function editSource({ source, audio, examined }: OpenCapture, folder: string): EditSource {
  const { frames, channels, bits } = audio.info;
  const paths = source.files.map(({ path }) => relative(folder, path));
  const parts = examined.parts?.map(({ frames: own, sha256 }, i) => ({ path: paths[i], sha256, frames: own }));
  return {
    path: paths[0],
    sha256: examined.digests.file.sha256,
    audioSha256: examined.digests.audio.sha256,
    ...{ frames, channels, bits },
    ...(parts ? { parts } : {}),
    ...examined.readWith,
  };
}

function timed(progress: NonNullable<TaskContext['progress']>, hz: number): NonNullable<TaskContext['progress']> {
  return (event) => progress({ ...event, rateHz: hz });
}
