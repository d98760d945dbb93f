// Which files make one capture: the arguments of a verb sorted into takes, folders opened up, and the parts that lie beside a
// file. What is likely but not sure is only told. The evidence itself is media's.
import type { Problem } from '../base/index.ts';
import { findNeighbours, findTakes, type Take, type TakeJoint } from '../media/index.ts';
import { type CaptureSource, type ReadOptions, readingOf } from './capture-source.ts';

/** `auto`: by the evidence; `joined`: all files are parts of one take, in the order given; `apart`: each by itself. */
export type PartsRule = 'auto' | 'joined' | 'apart';

/** The files as captures, in the order of their first parts. Bare samples carry no evidence: each is by itself unless joined. */
export async function sortIntoTakes(
  paths: readonly string[],
  rule: PartsRule,
  options: ReadOptions,
): Promise<CaptureSource[]> {
  const reading = readingOf(options);
  if (rule === 'joined') return [{ files: paths.map(named), ...reading }];
  if (rule === 'apart' || reading.raw) return paths.map((path) => ({ files: [named(path)], ...reading }));
  const takes = paths.length > 1 ? await findTakes(paths) : [{ parts: paths, joints: [] }];
  const sources: CaptureSource[] = [];
  for (const take of takes) {
    const problems = [...doubts(take), ...(await besides(take, paths))];
    sources.push({ files: take.parts.map(named), ...reading, ...(problems.length ? { problems } : {}) });
  }
  return sources;
}

function named(path: string): { path: string; name: string } {
  return { path, name: path };
}

function doubts({ doubtful = [] }: Take): Problem[] {
  return doubtful.map((joint) => ({
    id: 'take-not-joined',
    severity: 'note',
    message: `${joint.after} may be the continuation of ${joint.before}, but too little says so (${reasons(joint)}); read apart`,
    next: 'if it is, name only these files, in order, with --parts joined',
  }));
}

/** Parts that lie beside the take and were not named. */
async function besides({ parts, unreadable }: Take, given: readonly string[]): Promise<Problem[]> {
  if (unreadable !== undefined) return [];
  const whole = await findNeighbours(parts[0], given);
  const after = parts.length > 1 ? await findNeighbours(parts[parts.length - 1], given) : whole;
  const before = whole.parts.slice(0, whole.parts.indexOf(parts[0]));
  const behind = after.parts.slice(after.parts.indexOf(parts[parts.length - 1]) + 1);
  const likely = [...(whole.doubtful ?? []), ...(after === whole ? [] : (after.doubtful ?? []))];
  return [
    ...before.map((path) => partBeside(path, 'before', 'name it, too, or the folder')),
    ...behind.map((path) => partBeside(path, 'behind', 'name it, too, or the folder')),
    ...likely.map((joint) => maybeBeside(joint, parts, 'if it is, name both with --parts joined')),
  ];
}

export function partBeside(path: string, where: 'before' | 'behind', next: string): Problem {
  const place = where === 'before' ? 'the part before this one' : 'the next part of this take';
  return { id: 'take-part-beside', severity: 'warning', message: `${path} is ${place} and was not read`, next };
}

export function maybeBeside(joint: TakeJoint, own: readonly string[], next: string): Problem {
  const isBefore = own.includes(joint.after);
  const [path, place] = isBefore
    ? [joint.before, 'the part before this one']
    : [joint.after, 'a next part of this take'];
  const message = `${path} may be ${place}, but too little says so (${reasons(joint)}); it was not read`;
  return { id: 'take-part-beside', severity: 'note', message, next };
}

/** What speaks for the joint, in words. */
export function reasons({ evidence }: TakeJoint): string {
  const speaking = evidence.filter(({ says }) => says === 'joined').map(({ detail }) => detail);
  return speaking.join('; ') || 'nothing but the order';
}
