// The timecode of captures for joining them: found by `examine`, or on the channel that the sheet names. Reads a file again only where nobody has
// examined it.
import type { TimecodeFacts } from '../align/index.ts';
import type { FrameSource, StopSignal } from '../base/index.ts';
import { DETECTORS, examineSource, type Verdict } from '../examine/index.ts';
import type { TimecodeSummary } from '../signal/index.ts';

export interface CodeWanted {
  readonly name: string;
  readonly pass?: number | undefined;
  /** file channel the sheet names; any that has timecode when left out */
  readonly channel?: number | null | undefined;
}

/** From the verdicts of an examination. */
export function codeOf(source: FrameSource, verdicts: readonly Verdict[], wanted: CodeWanted): TimecodeFacts {
  const codes = verdicts
    .filter(({ question, channel }) => question === 'timecode' && (wanted.channel ?? channel) === channel)
    .map(({ evidence }) => evidence as unknown as TimecodeSummary)
    .sort((a, b) => b.words - a.words);
  const coded = codes[0] ? { rate: source.info.rate, code: codes[0] } : null;
  return { name: wanted.name, pass: wanted.pass, coded };
}

/** Reads the whole source, for timecode alone. */
export async function readCode(source: FrameSource, wanted: CodeWanted, stop?: StopSignal): Promise<TimecodeFacts> {
  const own = DETECTORS.filter(({ meta }) => meta.id === 'timecode');
  const { verdicts } = await examineSource(source, own, stop ? { stop } : {});
  return codeOf(source, verdicts, wanted);
}

/** The sheet names a channel and there is no timecode on it. */
export function missingCode({ coded, name }: TimecodeFacts, channel: number | null | undefined): string[] {
  if (coded || channel === null || channel === undefined) return [];
  return [`${name}: the sheet says that file channel ${channel} carries timecode; none was found there`];
}
