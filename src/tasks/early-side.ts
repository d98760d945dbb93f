// The second thread of an examination, begun before anything is known of the file: it takes as long to load as what the first thread needs, and both
// may load at the same time. Loads nothing else of ours, for the same reason. Not for what it is told (side-examination.ts).
import { statSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';

/** Bytes of a file below which it hardly has enough samples to be worth a thread. */
const FEWEST_BYTES = 16_000_000;

let early: Worker | undefined;

/** Does nothing where no file is large. Nobody waits for the thread, nor does it keep the program from ending, unless it is asked for. */
export function beginSideEarly(paths: readonly string[]): void {
  if (early || availableParallelism() < 2 || !paths.some(isLarge)) return;
  early = newSideThread();
  early.unref();
  // Told by whoever begins another one instead.
  early.on('error', () => {
    early = undefined;
  });
}

/** The one begun before, once, or a new one. */
export function sideThread(): Worker {
  const thread = early ?? newSideThread();
  early = undefined;
  thread.removeAllListeners();
  thread.ref();
  return thread;
}

function newSideThread(): Worker {
  // The compiler does not rename what is no import, and the tests run the sources.
  const ending = import.meta.url.endsWith('.ts') ? 'ts' : 'js';
  return new Worker(new URL(`./side-worker.${ending}`, import.meta.url), { execArgv: [] });
}

/** What cannot be looked at is told by whoever opens it. */
function isLarge(path: string): boolean {
  try {
    return statSync(path).size >= FEWEST_BYTES;
  } catch {
    return false;
  }
}
