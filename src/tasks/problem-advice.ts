// What the user can do about audio that was not read: the option or the word on the sheet, with the numbers of this very file.
// Not for problems that explain themselves.
import type { Problem } from '../base/index.ts';
import type { MediaInfo } from '../media/index.ts';

/** Bytes between the header of an audio chunk and its first sample. */
const CHUNK_HEADS: { readonly [container: string]: number } = { w64: 24, aiff: 16, aifc: 16, caf: 16 };

export function advised(problems: readonly Problem[], info: MediaInfo): Problem[] {
  return problems.map((problem) => {
    const next = problem.next ?? adviceFor(problem, info);
    return next === undefined ? problem : { ...problem, next };
  });
}

function adviceFor({ id, severity, offset }: Problem, info: MediaInfo): string | undefined {
  if (severity !== 'damage') return undefined;
  if (id === 'trailing-data') return 'if they are audio, read them with --trailing (on the sheet: trailing: true)';
  if (id === 'trailing-bytes' && offset !== undefined) return rawFrom(offset, info);
  if (id === 'second-data-chunk' && offset !== undefined)
    return rawFrom(offset + (CHUNK_HEADS[info.container] ?? 8), info);
  if (id === 'take-gap') return 'another pass over this place fills the gap';
  if (id === 'take-doubtful') return 'check that these files are parts of one recording, in this order';
  return undefined;
}

function rawFrom(offset: number, { encoding, rate, channels }: MediaInfo): string | undefined {
  if (encoding === undefined || encoding.startsWith('f')) return undefined;
  const hz = rate.den === 1 ? `${rate.num}` : `${rate.num}/${rate.den}`;
  const spec = `${hz}:${channels}:${encoding}:${offset}`;
  return `read it by itself, to the end of the file: --raw ${spec} (on the sheet: raw: ${spec})`;
}
