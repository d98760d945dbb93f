// Looks beside a capture for the other parts of its take: recorders leave them in the same folder, or under the same name in
// folders numbered on. Only files that the name or the time reference points at are opened. Not for files somebody named.
import { readdir } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { TapeproofError } from '../base/index.ts';
import { isAudioPath } from './audio-kind.ts';
import { openBytes } from './byte-file.ts';
import { findTakes, type Take } from './find-takes.ts';
import { walkRiff } from './riff-chunks.ts';
import { isSoonAfter, type TimedFile } from './take-evidence.ts';
import { nameLink } from './take-names.ts';
import { glanceWave } from './wave-layout.ts';

/** Files of a folder that are looked at; a folder with more is no recorder's. */
const MOST_BESIDE = 2000;
/** Parts of one take; 64 parts of 2 GiB are days. */
const MOST_PARTS = 64;

/** The take that `path` belongs to, with what lies beside it; `leaveOut` are files that are something else for certain. */
export async function findNeighbours(path: string, leaveOut: readonly string[] = []): Promise<Take> {
  const candidates = await linked(path, new Set(leaveOut.filter((other) => other !== path)));
  const alone: Take = { parts: [path], joints: [] };
  if (candidates.length === 1) return alone;
  const takes = await findTakes(candidates);
  return takes.find(({ parts }) => parts.includes(path)) ?? alone;
}

/** `path` and all files that names or times chain to it. */
async function linked(path: string, leaveOut: ReadonlySet<string>): Promise<string[]> {
  const beside = (await filesAround(path)).filter((other) => other !== path && !leaveOut.has(other));
  const glances = new Map<string, TimedFile | undefined>();
  const glance = async (file: string) => {
    if (!glances.has(file)) glances.set(file, await glanceAt(file));
    return glances.get(file);
  };
  const found = [path];
  for (let i = 0; i < found.length && found.length < MOST_PARTS; i++) {
    const own = await glance(found[i]);
    for (const other of beside) {
      if (found.includes(other) || found.length >= MOST_PARTS) continue;
      const isNamed = nameLink(found[i], other) !== undefined || nameLink(other, found[i]) !== undefined;
      if ((isNamed && (await isAudio(other))) || (own && isSoon(own, await glance(other)))) found.push(other);
    }
  }
  return found;
}

function isSoon(a: TimedFile, b: TimedFile | undefined): boolean {
  return b !== undefined && (isSoonAfter(a, b) || isSoonAfter(b, a));
}

async function isAudio(path: string): Promise<boolean> {
  return isAudioPath(path).catch(ignoreRefusal);
}

/** What lies beside a capture may be anything; only what can be read counts. */
function ignoreRefusal(error: unknown): false {
  if (error instanceof TapeproofError) return false;
  throw error;
}

async function glanceAt(path: string): Promise<TimedFile | undefined> {
  try {
    const file = await openBytes(path);
    try {
      return await glanceWave(file, await walkRiff(file));
    } finally {
      await file.close();
    }
  } catch (error) {
    if (error instanceof TapeproofError) return undefined;
    throw error;
  }
}

/** Regular files of the folder, and the one of the same name in each folder whose name differs only in its number. */
async function filesAround(path: string): Promise<string[]> {
  const folder = dirname(path);
  const above = dirname(folder);
  const stem = folder.replace(/\d+$/, '');
  const beside = (await entries(folder)).filter((entry) => entry.isFile()).map(({ name }) => join(folder, name));
  const numbered = (stem === folder ? [] : await entries(above))
    .filter((entry) => entry.isDirectory())
    .map(({ name }) => join(above, name))
    .filter((other) => other !== folder && other.replace(/\d+$/, '') === stem)
    .map((other) => join(other, basename(path)));
  return [...numbered, ...beside].slice(0, MOST_BESIDE);
}

/** A folder that cannot be listed has nothing to show. */
async function entries(folder: string) {
  return readdir(folder, { withFileTypes: true }).catch(() => []);
}
