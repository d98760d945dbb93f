// A folder of results that appears as a whole: everything is written and checked in a hidden folder beside its place, then
// renamed into it file by file. A killed run leaves the old results and a hidden folder that the next run clears away.
import { mkdir, readdir, rename, rm, rmdir } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { TapeproofError } from '../base/index.ts';

const PREFIX = '.tapeproof-';
const SUFFIX = '.part';

export interface StagedFolder {
  /** where a result is written for now */
  pathOf(name: string): string;
  /** Renames `names` into the folder in this order and removes earlier results that `isOurs` claims and that are not among them. */
  publish(names: readonly string[], isOurs: (name: string) => boolean): Promise<void>;
  discard(): Promise<void>;
}

/** Throws `io` when the folder cannot be made, `input` when a result would take the place of one of `sources`. */
export async function stageFolder(
  folder: string,
  names: readonly string[],
  sources: readonly string[],
): Promise<StagedFolder> {
  for (const name of names) {
    const target = resolve(folder, name);
    if (sources.some((source) => resolve(source) === target)) {
      throw new TapeproofError('input', `${name} would take the place of a capture`, {
        path: target,
        next: 'choose another folder with --out',
      });
    }
  }
  const stage = join(folder, `${PREFIX}${process.pid}${SUFFIX}`);
  try {
    await mkdir(folder, { recursive: true });
    await clearLeftovers(folder);
    await mkdir(stage);
  } catch (cause) {
    throw new TapeproofError('io', 'cannot make the folder for the results', {
      path: folder,
      found: cause instanceof Error ? cause.message : String(cause),
      next: 'choose a folder you may write to with --out',
      cause,
    });
  }
  return {
    pathOf: (name) => join(stage, name),
    async publish(published, isOurs) {
      for (const name of published) await rename(join(stage, name), join(folder, name));
      for (const name of await readdir(folder)) {
        if (isOurs(name) && !published.includes(name)) await rm(join(folder, name));
      }
      await rmdir(stage);
    },
    discard: () => rm(stage, { recursive: true, force: true }),
  };
}

/** Hidden folders of runs that are no longer there. */
async function clearLeftovers(folder: string): Promise<void> {
  for (const name of await readdir(folder)) {
    const pid = Number(name.startsWith(PREFIX) && name.endsWith(SUFFIX) && name.slice(PREFIX.length, -SUFFIX.length));
    if (pid > 0 && !isRunning(pid)) await rm(join(folder, name), { recursive: true, force: true });
  }
}

function isRunning(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}
