// The audio files of a folder and of the folders in it, in the order of their numbers, and what was passed over. By contents: a
// name decides only that a broken file is told instead of passed over. Reads first bytes, nothing more.
import type { Dirent } from 'node:fs';
import { readdir, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { TapeproofError } from '../base/index.ts';
import { isAudioPath } from '../media/index.ts';

export interface AudioFolder {
  readonly audio: readonly string[];
  /** regular files that are no audio of a known kind */
  readonly passedOver: readonly string[];
}

const AUDIO_NAME = /\.(wave?|bwf|rf64|bw64|w64|aif[fc]?|caf|flac)$/i;
/** Recorders keep takes one folder down, cards two or three. */
const DEEPEST = 4;
const MOST_FILES = 10_000;

/** Whether the path is a folder; a missing one is not. */
export async function isFolder(path: string): Promise<boolean> {
  const info = await stat(path).catch(() => undefined);
  return info?.isDirectory() ?? false;
}

/** Hidden files and links to folders are left alone. Throws `input` when there is no audio, `limit` for far too many files. */
export async function readAudioFolder(folder: string): Promise<AudioFolder> {
  const files: string[] = [];
  await collect(folder, 0, files);
  const audio: string[] = [];
  const passedOver: string[] = [];
  for (const path of files) (AUDIO_NAME.test(path) || (await looksLikeAudio(path)) ? audio : passedOver).push(path);
  if (audio.length > 0) return { audio, passedOver };
  const found = files.length === 0 ? 'no files' : `${files.length} files of other kinds`;
  const next = 'name the files themselves; bare samples also need --raw';
  throw new TapeproofError('input', 'no audio file in this folder', { path: folder, found, next });
}

async function collect(folder: string, depth: number, files: string[]): Promise<void> {
  for (const entry of await sorted(folder)) {
    const path = join(folder, entry.name);
    if (entry.isDirectory() && depth < DEEPEST) await collect(path, depth + 1, files);
    else if (entry.isFile() || (entry.isSymbolicLink() && (await isRegular(path)))) files.push(path);
    if (files.length > MOST_FILES) {
      const expected = `${MOST_FILES} files at most`;
      throw new TapeproofError('limit', 'far too many files for one tape', { path: folder, expected });
    }
  }
}

async function sorted(folder: string): Promise<Dirent[]> {
  const { compare } = new Intl.Collator('en', { numeric: true });
  const entries = await readdir(folder, { withFileTypes: true }).catch((cause: unknown) => {
    throw new TapeproofError('io', 'the folder cannot be read', { path: folder, next: 'check its permissions', cause });
  });
  return entries.filter(({ name }) => !name.startsWith('.')).sort((a, b) => compare(a.name, b.name));
}

async function isRegular(path: string): Promise<boolean> {
  const info = await stat(path).catch(() => undefined);
  return info?.isFile() ?? false;
}

/** One that cannot be opened is no reason to stop here; it is told when it is named. */
async function looksLikeAudio(path: string): Promise<boolean> {
  return isAudioPath(path).catch((error: unknown) => {
    if (error instanceof TapeproofError) return false;
    throw error;
  });
}
