// The captures of a sheet as files to open: a take that goes on beside its first part is read whole where the evidence is good,
// and whatever is not read is told. Files that the sheet names elsewhere are never taken for a part.
import { basename, dirname, join } from 'node:path';
import type { Problem } from '../base/index.ts';
import { findNeighbours } from '../media/index.ts';
import type { CaptureSource } from './capture-source.ts';
import { maybeBeside, partBeside, reasons } from './find-parts.ts';
import type { SheetCapture, SheetFile, TransferSheet } from './sheet.ts';

export async function captureSources({ captures }: TransferSheet): Promise<CaptureSource[]> {
  const named = captures.flatMap(({ files }) => files.map(({ path }) => path));
  const sources: CaptureSource[] = [];
  for (const capture of captures) sources.push(await sourceOf(capture, named));
  return sources;
}

async function sourceOf(capture: SheetCapture, named: readonly string[]): Promise<CaptureSource> {
  const { files, isListed, raw, trailing, segment, status } = capture;
  const reading = {
    ...(raw ? { raw } : {}),
    ...(trailing ? { trailing } : {}),
    ...(segment ? { segment } : {}),
    ...(status ? { status } : {}),
  };
  if (isListed || raw) return { files, ...reading };
  return { ...(await wholeTake(files[0], named)), ...reading };
}

async function wholeTake(file: SheetFile, named: readonly string[]): Promise<CaptureSource> {
  const take = await findNeighbours(file.path, named);
  const own = take.parts.indexOf(file.path);
  const beside = (path: string): string => nameBeside(file, path);
  const parts = take.parts.slice(own);
  const files = parts.map((path, i) => (i === 0 ? file : { path, name: beside(path) }));
  const list = (paths: readonly string[]) => `files: [${paths.map(beside).join(', ')}]`;
  const problems: Problem[] = [
    ...take.parts.slice(0, own).map((path) => ({
      ...partBeside(beside(path), 'before', `write ${list(take.parts)} for the whole take, or files: [${file.name}]`),
      // What comes before is missing from the master, whereas what comes behind is read.
      severity: 'damage' as const,
    })),
    ...take.joints.slice(own).map((joint): Problem => {
      const message = `${beside(joint.after)} was read as the next part of this take (${reasons(joint)})`;
      return { id: 'take-part-found', severity: 'note', message, next: `if it is not, write files: [${file.name}]` };
    }),
    ...(take.doubtful ?? []).map((joint) => {
      const named = { ...joint, before: beside(joint.before), after: beside(joint.after) };
      const own = parts.map(beside);
      return maybeBeside(named, own, `if it is, write ${list([joint.before, joint.after])}`);
    }),
  ];
  return { files, ...(problems.length ? { problems } : {}) };
}

/** Found files are called as the sheet would call them. */
function nameBeside({ name, path }: SheetFile, other: string): string {
  if (other === path) return name;
  const folder = dirname(name);
  if (dirname(other) === dirname(path)) return join(folder, basename(other));
  return join(folder, '..', basename(dirname(other)), basename(other));
}
