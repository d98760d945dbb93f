// For files that are made beside originals and could be mistaken for them: never over something that is there already.
import { access } from 'node:fs/promises';
import { TapeproofError } from '../base/index.ts';

/** Throws `input` when anything stands at `path`. */
export async function refuseExisting(path: string): Promise<void> {
  const isThere = await access(path).then(
    () => true,
    () => false,
  );
  if (!isThere) return;
  throw new TapeproofError('input', 'there is a file of this name already', {
    path,
    expected: 'a name that is free: nothing is overwritten',
    next: 'choose another name with --out, or move the old file away',
  });
}
