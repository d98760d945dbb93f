// What tests need from the machine: external tools as independent judges, the folder of odd sample files, a temporary folder.
// Not shipped. Outside CI a missing tool skips the test with its reason; under CI=true it fails, so that no judge is lost silently.
import { accessSync, constants, existsSync, rmSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { onTestFinished } from 'vitest';

/** The part of vitest's test context that is used; `({ skip })` of any test fits. */
export interface Skipping {
  skip(note?: string): never;
}

export const REPOSITORY = resolve(fileURLToPath(new URL('.', import.meta.url)), '../../..');

/** Full path of an executable on PATH. A name with a slash is looked up as it is, e.g. `/usr/bin/python3`. */
export function findTool(name: string): string | undefined {
  const places = name.includes('/') ? [''] : (process.env.PATH ?? '').split(delimiter);
  return places.map((place) => (place ? join(place, name) : name)).find(isExecutable);
}

function isExecutable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** The tool's path, or the test is skipped with the reason (fails under CI=true). */
export function needTool(context: Skipping, name: string): string {
  return findTool(name) ?? missing(context, `the tool ${name} is not installed`);
}

/** Skips with `reason`, or fails under CI=true. */
export function missing(context: Skipping, reason: string): never {
  if (process.env.CI === 'true') throw new Error(`${reason}, and CI=true allows no skipping`);
  return context.skip(reason);
}

/** Odd and malformed sample files kept beside the checkout or named by TAPEPROOF_TESTDATA; undefined when absent. */
export function testDataFolder(): string | undefined {
  const folder = process.env.TAPEPROOF_TESTDATA ?? resolve(REPOSITORY, '../shared/data');
  return existsSync(folder) ? folder : undefined;
}

/** `testDataFolder`, or the test is skipped with the reason, under CI too: the files are not part of the project. */
export function needTestData(context: Skipping): string {
  return testDataFolder() ?? context.skip('no sample files: neither ../shared/data nor TAPEPROOF_TESTDATA exists');
}

/** A fresh folder, removed after the test, or at the end of the process when made outside a test. */
export async function tempFolder(): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'tapeproof-test-'));
  try {
    onTestFinished(() => rm(folder, { recursive: true, force: true }));
  } catch {
    process.once('exit', () => rmSync(folder, { recursive: true, force: true }));
  }
  return folder;
}
