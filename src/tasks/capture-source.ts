// What a capture consists of and how its files are to be read: one file or the parts of one take, known by their contents or
// described as bare samples. Opens it; does not look for parts (find-parts).
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ReadWith } from '../deliver/index.ts';
import { type AudioFile, formatRawSpec, openAudio, openTake, parseRawSpec, type RawSpec } from '../media/index.ts';
import { HIGHEST_CHANNEL } from './sheet-words.ts';

/** How files are read where their contents do not say it; the same on the command line and on a sheet. */
export interface ReadOptions {
  /** bare samples, as `parseRawSpec` reads it */
  readonly raw?: string | undefined;
  /** audio behind a stated size that is too short is read */
  readonly trailing?: boolean | undefined;
  /** the stretch of a stream whose mode changes, counted from 1 */
  readonly segment?: number | undefined;
  /** what the interface said: hex, words, or the path of a log */
  readonly status?: string | undefined;
}

export interface CaptureSource {
  /** the parts in order, with the names that documents and messages call them by */
  readonly files: readonly { readonly path: string; readonly name: string }[];
  readonly raw?: RawSpec | undefined;
  readonly trailing?: boolean | undefined;
  readonly segment?: number | undefined;
  readonly status?: string | undefined;
  /** what was noticed before anything was opened, such as a further part beside it */
  readonly problems?: readonly Problem[];
}

/** Throws `input` where `raw` is no description. */
export function fileSource(path: string, options: ReadOptions = {}): CaptureSource {
  return { files: [{ path, name: path }], ...readingOf(options) };
}

export function readingOf({
  raw,
  trailing,
  segment,
  status,
}: ReadOptions): Pick<CaptureSource, 'raw' | 'trailing' | 'segment' | 'status'> {
  return {
    ...(raw === undefined ? {} : { raw: parseRawSpec(raw) }),
    ...(trailing ? { trailing } : {}),
    ...(segment === undefined ? {} : { segment }),
    ...(status === undefined ? {} : { status }),
  };
}

/** "p1.wav", or "p1.wav and 2 more parts". */
export function nameOf({ files }: CaptureSource): string {
  const more = files.length - 1;
  return more === 0 ? files[0].name : `${files[0].name} and ${more} more ${more === 1 ? 'part' : 'parts'}`;
}

/** Throws `limit` for more channels than any tape has: every detector keeps some room for each. */
export async function openCapture(source: CaptureSource): Promise<AudioFile> {
  const audio = await openFiles(source);
  const { channels } = audio.info;
  if (channels <= HIGHEST_CHANNEL) return audio;
  await audio.close();
  throw new TapeproofError('limit', 'far more channels than a tape has', {
    path: source.files[0].path,
    expected: `${HIGHEST_CHANNEL} channels at most`,
    found: `${channels}`,
    next: 'the header is probably damaged: read the file with --raw (on the sheet: raw:)',
  });
}

function openFiles(source: CaptureSource): Promise<AudioFile> {
  const { files, raw, trailing, segment } = source;
  const options = { name: nameOf(source), raw, takeTrailing: trailing, segment };
  if (files.length === 1) return openAudio(files[0].path, options);
  return openTake(
    files.map(({ path }) => path),
    { ...options, partNames: files.map(({ name }) => name) },
  );
}

/** As documents say it; undefined when the contents said everything. */
export function readWith({ raw, trailing, segment }: CaptureSource): ReadWith | undefined {
  if (!raw && !trailing && segment === undefined) return undefined;
  return {
    ...(raw ? { raw: formatRawSpec(raw) } : {}),
    ...(trailing ? { trailing: true } : {}),
    ...(segment === undefined ? {} : { segment }),
  };
}
