// What a channel's timecode says, as plain data for documents and findings: addresses as text, places in samples of the recording. Judges
// nothing that sections.ts and timecode-clock.ts have not judged.
import type { Rate } from '../../base/index.ts';
import { flagsOf, userBitsUse } from './code-word.ts';
import type { TimecodeGap, TimecodeJump, TimecodeReading, TimecodeSection, UserBits } from './sections.ts';
import { withinDay } from './sections.ts';
import { addressOf, formatAddress } from './time-address.ts';
import { type ClockKind, sectionClock, timecodeRate } from './timecode-clock.ts';

export interface SummaryPoint {
  readonly timecode: string;
  /** frame number of the timecode; runs on past midnight */
  readonly number: number;
  /** sample at which that frame begins, with a fraction */
  readonly at: number;
}

export interface SectionSummary {
  readonly kind: TimecodeSection['kind'];
  readonly direction: 'forward' | 'reverse';
  readonly count: number;
  readonly isDrop: boolean;
  /** first and last sample edge, and the addresses of the first and last word in order of time */
  readonly start: number;
  readonly end: number;
  readonly from: string;
  readonly to: string;
  readonly words: number;
  readonly missing: number;
  readonly framesPerSecond: number | null;
  readonly speed: number | null;
  readonly ppm: number | null;
  readonly ppmError: number | null;
  readonly clock: ClockKind;
  /** samples from word to word of the straight line, its standard deviation, and how far words lie off it (root mean square) */
  readonly samplesPerFrame: number | null;
  readonly samplesPerFrameError: number | null;
  readonly residual: number | null;
  readonly map: readonly SummaryPoint[];
  readonly mapTolerance: number;
}

export interface JumpSummary extends Omit<TimecodeJump, 'from' | 'to'> {
  readonly from: string;
  readonly to: string;
}

export interface TimecodeSummary {
  readonly count: number;
  readonly isDrop: boolean;
  readonly isCountSeen: boolean;
  readonly nominal: Rate | null;
  readonly candidates: readonly Rate[];
  readonly nominalBecause: string;
  readonly from: string;
  readonly to: string;
  readonly words: number;
  readonly missing: number;
  readonly unconfirmed: number;
  readonly expectedByChance: number;
  readonly sections: readonly SectionSummary[];
  readonly gaps: readonly TimecodeGap[];
  readonly jumps: readonly JumpSummary[];
  readonly userBits: {
    readonly first: string;
    readonly use: string;
    readonly changes: number;
    readonly values: readonly UserBits[];
  };
  readonly groupFlags: readonly boolean[];
  readonly isColourFrame: boolean;
  /** share of words whose zeros are even, as the polarity bit makes them */
  readonly evenShare: number;
}

export function timecodeSummary(reading: TimecodeReading, fileRateHz: number): TimecodeSummary {
  const { sections } = reading;
  const longest = sections.reduce((best, section) => (section.words > best.words ? section : best));
  const { count, isDrop } = longest.numbering;
  const { nominal, candidates, because } = timecodeRate(sections, fileRateHz);
  const bits = reading.flagBits as readonly [boolean, boolean, boolean, boolean];
  const { groupFlags } = flagsOf({ bits }, count);
  const [first, last] = [sections[0], sections[sections.length - 1]];
  return {
    count,
    isDrop,
    isCountSeen: reading.isNumberingSeen,
    nominal,
    candidates,
    nominalBecause: because,
    from: formatAddress(first.first, first.numbering.isDrop),
    to: formatAddress(last.last, last.numbering.isDrop),
    words: reading.words,
    missing: sections.reduce((sum, { missing }) => sum + missing, 0),
    unconfirmed: reading.unconfirmed,
    expectedByChance: reading.expectedByChance,
    sections: sections.map((section) => {
      const isSame = section.numbering.count === count;
      return sectionSummary(section, isSame ? nominal : null, fileRateHz);
    }),
    gaps: reading.gaps.map(({ start, end, missing }) => ({ start: place(start), end: place(end), missing })),
    jumps: reading.jumps.map((jump) => ({
      ...jump,
      at: place(jump.at),
      unreadFrames: place(jump.unreadFrames),
      from: formatAddress(jump.from, isDrop),
      to: formatAddress(jump.to, isDrop),
    })),
    userBits: {
      first: reading.user[0].value,
      use: userBitsUse(groupFlags),
      changes: reading.userChanges,
      values: reading.user.map(({ value, at }) => ({ value, at: place(at) })),
    },
    groupFlags,
    isColourFrame: reading.isColourFrame,
    evenShare: reading.evenShare,
  };
}

function sectionSummary(section: TimecodeSection, nominal: Rate | null, fileRateHz: number): SectionSummary {
  const { numbering, line, map } = section;
  const clock = sectionClock(section, nominal, fileRateHz);
  return {
    kind: section.kind,
    direction: section.isReverse ? 'reverse' : 'forward',
    count: numbering.count,
    isDrop: numbering.isDrop,
    start: place(section.start),
    end: place(section.end),
    from: formatAddress(section.first, numbering.isDrop),
    to: formatAddress(section.last, numbering.isDrop),
    words: section.words,
    missing: section.missing,
    framesPerSecond: clock?.framesPerSecond ?? null,
    speed: clock?.speed ?? null,
    ppm: clock?.ppm ?? null,
    ppmError: clock?.ppmError ?? null,
    clock: clock?.clock ?? 'cannot tell',
    samplesPerFrame: line ? Math.abs(line.step) : null,
    samplesPerFrameError: line?.stepError ?? null,
    residual: line?.residual ?? null,
    map: map.map(({ number, at }) => ({
      timecode: formatAddress(addressOf(withinDay(number, numbering), numbering), numbering.isDrop),
      number,
      at: place(at),
    })),
    mapTolerance: section.mapTolerance,
  };
}

/** A thousandth of a sample is finer than any edge can be placed. */
function place(at: number): number {
  return Math.round(at * 1000) / 1000;
}
