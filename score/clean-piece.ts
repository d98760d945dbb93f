// One stretch of undamaged sound: examined as it is. Every finding of a loss or a click counts as a false alarm, but one that itself says
// that nobody can tell; those, and what is said of the sound as a whole, are rows of their own kind. Of a repeat the row says what the
// samples show, whoever made it.
import { memorySource } from '../src/base/index.ts';
import { examineSource, type Finding, isLoss } from '../src/examine/index.ts';
import { type AlarmRow, type Row, SCORED, type SoundRow } from './rows.ts';
import type { Sound } from './tapes.ts';
import { logExpected } from './visible.ts';

export interface CleanSound extends Sound {
  readonly name: string;
  readonly half: SoundRow['half'];
  readonly kind: string;
  /** sound that is counted once more in another word or treatment is not */
  readonly isFirst: boolean;
}

export async function cleanPiece({ planes, bits, rate, name, half, kind, isFirst }: CleanSound): Promise<Row[]> {
  const { findings } = await examineSource(memorySource(planes, { name, rate, bits }), SCORED);
  const seconds = Math.round((planes[0].length * rate.den) / rate.num);
  const alarms = findings.filter((finding) => isLoss(finding) || finding.kind === 'click' || kindOf(finding) in SAID);
  return [
    { row: 'sound', name, half, kind, channels: planes.length, seconds, isFirst: isFirst ? 1 : 0 },
    ...alarms.map((finding): AlarmRow => {
      const { channels, start, length } = finding;
      const confidence = Math.round(finding.confidence * 10_000) / 10_000;
      const place = { kind: kindOf(finding), channel: channels[0], start, length, confidence };
      return { row: 'alarm', name, half, ...place, ...repeatOf(planes[channels[0] - 1], finding) };
    }),
  ];
}

/** What the samples themselves say of a repeat, whatever the detector thinks of it. */
function repeatOf(plane: Int32Array, finding: Finding): Pick<AlarmRow, 'lag' | 'log10Expected'> {
  const { kind, channels, start, length, detail } = finding;
  const lag = Number(detail.lagFrames);
  if ((kind !== 'repeated' && kind !== 'copied') || !isEqualAt(plane, start, length, lag))
    return { lag: 0, log10Expected: 0 };
  const or = plane.reduce((all, x) => all | x, 0);
  const burst = { channel: channels[0], kind: 'repeated' as const, start, length, changed: length };
  return { lag, log10Expected: Math.round(logExpected(plane, burst, or & -or) / Math.LN10) };
}

function isEqualAt(plane: Int32Array, start: number, length: number, lag: number): boolean {
  return plane.subarray(start, start + length).every((x, i) => x === plane[start + i - lag]);
}

/** Kinds of rows that are no alarms, in words for the table. */
export const SAID: Readonly<Record<string, string>> = {
  'straight-lines': 'drawn out with straight lines',
  'lost-or-made': 'cannot tell a lost head from half the rate',
  copied: "the same samples twice, cannot tell a deck's repeat from an editor's copy",
  silence: "cannot tell a mute from an editor's cut",
};

function kindOf({ kind, detail }: Finding): string {
  const cannotTell = kind === 'interpolated' && `${detail.cause}`.startsWith('cannot tell');
  return cannotTell ? 'lost-or-made' : kind;
}
