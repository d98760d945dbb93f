// Whether a file begins as one of the kinds that can be opened without being described. Looks at the first bytes only: what
// comes behind them may still be refused.
import { type ByteFile, openBytes } from './byte-file.ts';
import { startsAsDat } from './dat/open-dat.ts';
import { startsAsDv } from './dv/open-dv.ts';
import { findFlac } from './flac-metadata.ts';
import { ascii, riffContainer } from './riff-chunks.ts';
import { isW64 } from './w64-chunks.ts';

export async function startsAsAudio(file: ByteFile): Promise<boolean> {
  const head = await file.view(0, 16);
  if (isW64(head) || ascii(head, 0) === 'caff' || riffContainer(head) !== undefined) return true;
  return (await findFlac(file)) !== undefined || (await startsAsDv(file, head)) || (await startsAsDat(file));
}

/** The same of a path. Throws as opening does. */
export async function isAudioPath(path: string): Promise<boolean> {
  const file = await openBytes(path);
  try {
    return await startsAsAudio(file);
  } finally {
    await file.close();
  }
}
