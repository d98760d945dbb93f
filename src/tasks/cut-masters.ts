// The masters to be cut: named, or those of a transfer sheet's result; with the tape, the channels of each programme and what their edit lists say of
// them. Opens nothing but small texts.
import { readdir } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { type EditList, validateEditList } from '../assemble/index.ts';
import { TapeproofError } from '../base/index.ts';
import { findFormat } from '../tape/index.ts';
import { parseSheet } from './sheet.ts';
import { readTextFile } from './text-file.ts';

export interface MasterToCut {
  readonly path: string;
  /** its edit list, where one lies beside it */
  readonly editList: EditList | null;
}

export interface MastersToCut {
  readonly tape: string | null;
  readonly masters: readonly MasterToCut[];
  /** channels of one programme, where the format has several on one tape */
  readonly programmeChannels: number | null;
}

const MOST_SHEET_BYTES = 262_144;
const MOST_LIST_BYTES = 512 * 1024 * 1024;
/** Programmes on one cassette are stereo recordings. */
const STEREO = 2;

/** `from`: folder of the sheet's result; default `result` beside the sheet. */
export async function mastersToCut(paths: readonly string[], from: string | undefined): Promise<MastersToCut> {
  const sheets = paths.filter(isSheet);
  if (sheets.length === 0) return named(paths);
  if (paths.length > 1) {
    const next = 'give one sheet, or masters only';
    throw new TapeproofError('input', 'a sheet stands by itself', { path: sheets[0], next });
  }
  const [path] = sheets;
  const { tape } = parseSheet(await readTextFile(path, 'transfer sheet', MOST_SHEET_BYTES), path);
  const folder = from ?? join(dirname(path), 'result');
  const { masters } = await named(await mastersIn(folder));
  const programmes = tape.format === null ? 1 : findFormat(tape.format).signal.programmes.value;
  return { tape: tape.id, masters, programmeChannels: programmes > 1 ? STEREO : null };
}

function isSheet(path: string): boolean {
  return /\.ya?ml$/i.test(path);
}

async function mastersIn(folder: string): Promise<string[]> {
  const names = await readdir(folder).catch((cause: unknown) => {
    const next = 'run the sheet first (tapeproof run), or say with --from where its result lies';
    throw new TapeproofError('input', 'the result of the sheet is not there', { path: folder, cause, next });
  });
  const numberOf = (name: string) => Number(/(\d+)\.wav$/.exec(name)?.[1] ?? 1);
  const masters = names.filter((name) => /^master(-\d+)?\.wav$/.test(name));
  if (masters.length === 0) throw new TapeproofError('input', 'there is no master in this folder', { path: folder });
  return masters.sort((a, b) => numberOf(a) - numberOf(b)).map((name) => join(folder, name));
}

async function named(paths: readonly string[]): Promise<MastersToCut> {
  const masters: MasterToCut[] = [];
  for (const path of paths) masters.push({ path, editList: await editListOf(path) });
  const tapes = new Set(masters.map(({ editList }) => editList?.tape ?? null));
  return { tape: tapes.size === 1 ? [...tapes][0] : null, masters, programmeChannels: null };
}

/** A list that is not there or of another kind is no error: a master may come from anywhere. */
async function editListOf(path: string): Promise<EditList | null> {
  const name = /^master(-\d+)?\.wav$/.exec(basename(path));
  if (!name) return null;
  try {
    const list = join(dirname(path), `edit-list${name[1] ?? ''}.json`);
    return validateEditList(JSON.parse(await readTextFile(list, 'edit list', MOST_LIST_BYTES)));
  } catch (error) {
    if (error instanceof TapeproofError || error instanceof SyntaxError) return null;
    throw error;
  }
}
