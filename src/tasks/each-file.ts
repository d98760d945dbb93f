// Several files, one task each: goes on past one that cannot be done and names it. Not for what is done.
import { describeError, isCancelled } from '../base/index.ts';
import type { FailedFile } from '../deliver/index.ts';

/** Throws the first error when nothing could be done, and the cancel error when stopped. */
export async function eachFile<T, R>(
  inputs: readonly T[],
  pathOf: (input: T) => string,
  work: (input: T) => Promise<R>,
): Promise<{ readonly done: readonly R[]; readonly failed: readonly FailedFile[] }> {
  const done: R[] = [];
  const failed: FailedFile[] = [];
  let firstError: unknown;
  for (const input of inputs) {
    try {
      done.push(await work(input));
    } catch (error) {
      if (isCancelled(error)) throw error;
      firstError ??= error;
      failed.push({ path: pathOf(input), error: describeError(error) });
    }
  }
  if (done.length === 0 && firstError !== undefined) throw firstError;
  return { done, failed };
}
