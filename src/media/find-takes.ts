// Sorts files into takes: recorders cut a long recording into parts, and the parts must be read as one. Every joint says what
// it rests on. Joints that are only likely are told and not made. Reads only the headers and the ends of each file.
import { describeError, isCancelled, TapeproofError } from '../base/index.ts';
import type { TakeJoint } from './audio-file.ts';
import { openAudio } from './open-audio.ts';
import { isSure, judgeJoint, readEnds, type TakeFileEnds } from './take-evidence.ts';

export interface Take {
  /** in order of time; a file that belongs to no other is a take of one part */
  readonly parts: readonly string[];
  /** between the parts: one fewer */
  readonly joints: readonly TakeJoint[];
  /** joints to the file before and to the one after that were not made, because too little speaks for them */
  readonly doubtful?: readonly TakeJoint[];
  /** why its only part cannot be read, in words */
  readonly unreadable?: string;
}

/** Takes in the order of their first parts among `paths`. A file that cannot be read becomes a take that says why. */
export async function findTakes(paths: readonly string[]): Promise<Take[]> {
  const unique = [...new Set(paths)];
  const unreadable = new Map<string, string>();
  const files: TakeFileEnds[] = [];
  for (const path of unique) {
    const ends = await endsOf(path).catch((error: unknown) => describeRefusal(error));
    if (typeof ends === 'string') unreadable.set(path, ends);
    else files.push(ends);
  }
  const joints = likeliest(files);
  const doubtful = joints.filter((joint) => !isSure(joint));
  const chains = chain(
    files.map(({ path }) => path),
    joints.filter(isSure),
  );
  const takes = [
    ...chains.map((chained): Take => {
      const parts = chained.map(({ path }) => path);
      const around = [
        ...doubtful.filter(({ after }) => after === parts[0]),
        ...doubtful.filter(({ before }) => before === parts.at(-1)),
      ];
      const joined = chained.flatMap(({ joint }) => joint ?? []);
      return { parts, joints: joined, ...(around.length ? { doubtful: around } : {}) };
    }),
    ...[...unreadable].map(([path, why]) => ({ parts: [path], joints: [], unreadable: why })),
  ];
  return takes.sort((a, b) => unique.indexOf(a.parts[0]) - unique.indexOf(b.parts[0]));
}

function describeRefusal(error: unknown): string {
  if (error instanceof TapeproofError && !isCancelled(error)) return describeError(error);
  throw error;
}

async function endsOf(path: string): Promise<TakeFileEnds> {
  const audio = await openAudio(path);
  try {
    return await readEnds(path, audio);
  } finally {
    await audio.close();
  }
}

/** The surest joints first; each file has at most one before and one after it, and no take bites its tail. */
function likeliest(files: readonly TakeFileEnds[]): TakeJoint[] {
  const joints = files.flatMap((before) =>
    files.flatMap((after) => (before === after ? [] : (judgeJoint(before, after) ?? []))),
  );
  joints.sort((a, b) => b.confidence - a.confidence);
  const next = new Map<string, TakeJoint>();
  const taken = new Set<string>();
  for (const joint of joints) {
    if (next.has(joint.before) || taken.has(joint.after) || endOf(joint.after, next) === joint.before) continue;
    next.set(joint.before, joint);
    taken.add(joint.after);
  }
  return [...next.values()];
}

function endOf(path: string, next: ReadonlyMap<string, TakeJoint>): string {
  let at = path;
  for (let joint = next.get(at); joint; joint = next.get(at)) at = joint.after;
  return at;
}

/** `joint`: the one before the part. */
function chain(paths: readonly string[], joints: readonly TakeJoint[]): { path: string; joint?: TakeJoint }[][] {
  const next = new Map(joints.map((joint) => [joint.before, joint]));
  const followers = new Set(joints.map(({ after }) => after));
  return paths
    .filter((path) => !followers.has(path))
    .map((path) => {
      const parts: { path: string; joint?: TakeJoint }[] = [{ path }];
      for (let joint = next.get(path); joint; joint = next.get(joint.after)) parts.push({ path: joint.after, joint });
      return parts;
    });
}
