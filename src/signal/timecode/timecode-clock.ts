// How fast a timecode runs by the clock of the file: which rate it was made for, its speed, and whether it and the samples came from one clock. Not
// for the map itself (time-line.ts).
import { type Rate, rate, rateHz } from '../../base/index.ts';
import type { TimecodeSection } from './sections.ts';

export interface TimecodeRate {
  /** frames in a second the code was made for; null where several fit equally well */
  readonly nominal: Rate | null;
  /** what remains possible */
  readonly candidates: readonly Rate[];
  readonly because: string;
}

/**
 * locked: no difference from the nominal rate, to within 1 ppm or better. free-running: a difference, measured. varying: no even run (wow, a change of
 * speed). cannot tell: the section is too short, or the nominal rate is not known.
 */
export type ClockKind = 'locked' | 'free-running' | 'varying' | 'cannot tell';

export interface SectionClock {
  readonly framesPerSecond: number;
  /** of the nominal rate, or of the count of the numbering where that is not known; positive in either direction */
  readonly speed: number;
  /** of the code against the file's clock; null unless it ran near speed 1 and evenly */
  readonly ppm: number | null;
  /** three standard deviations */
  readonly ppmError: number | null;
  readonly clock: ClockKind;
}

/** The two rates of 24 and 30 frames are 1000 ppm apart: nearer than this to one is that one, by any clock a recorder has. */
const NEAR_PPM = 300;
/** Only sections about this near to their speed tell the nominal rate. */
const PLAY_SPEED = 0.02;
/** Words off the line by more than this share of one: it did not run evenly. 1 sample at 1920. */
const UNEVEN = 1 / 1920;

const POSSIBLE: { readonly [count: number]: readonly Rate[] } = {
  24: [rate(24), rate(24_000, 1001)],
  25: [rate(25)],
  30: [rate(30), rate(30_000, 1001)],
};

export function timecodeRate(sections: readonly TimecodeSection[], fileRateHz: number): TimecodeRate {
  const longest = sections.reduce((best, section) => (section.words > best.words ? section : best));
  const { count, isDrop } = longest.numbering;
  const candidates = POSSIBLE[count];
  if (candidates.length === 1) return { nominal: candidates[0], candidates, because: 'seconds of 25 frames' };
  const { line } = longest;
  const perSecond = line ? fileRateHz / Math.abs(line.step) : 0;
  const errorPpm = line ? 3e6 * Math.abs(line.stepError / line.step) : 0;
  const near = candidates.filter((one) => Math.abs(perSecond / rateHz(one) - 1) * 1e6 + errorPpm < NEAR_PPM);
  if (near.length === 1 && isDrop && near[0].den === 1) {
    const because = `drop is for 29.97, and by the file's clock it is ${perSecond.toFixed(4)}: perhaps the rate in the header is not the true one, by 1001/1000`;
    return { nominal: null, candidates, because };
  }
  if (near.length === 1) {
    const because = `${perSecond.toFixed(4)} frames a second by the file's clock`;
    return { nominal: near[0], candidates: near, because };
  }
  if (isDrop) return { nominal: candidates[1], candidates: [candidates[1]], because: 'the drop-frame flag' };
  return { nominal: null, candidates, because: 'the speed lies near neither, so it cannot be told' };
}

/** null for a section without a line. */
export function sectionClock(section: TimecodeSection, nominal: Rate | null, fileRateHz: number): SectionClock | null {
  const { line, numbering } = section;
  if (!line) return null;
  const step = Math.abs(line.step);
  const framesPerSecond = fileRateHz / step;
  const speed = framesPerSecond / (nominal ? rateHz(nominal) : numbering.count);
  const isEven = line.residual < UNEVEN * step;
  const isPlay = Math.abs(speed - 1) < PLAY_SPEED;
  if (!isEven) return { framesPerSecond, speed, ppm: null, ppmError: null, clock: 'varying' };
  if (!isPlay || !nominal) return { framesPerSecond, speed, ppm: null, ppmError: null, clock: 'cannot tell' };
  const ppm = (speed - 1) * 1e6;
  const ppmError = (3e6 * line.stepError) / step;
  return { framesPerSecond, speed, ppm, ppmError, clock: clockKind(ppm, ppmError) };
}

function clockKind(ppm: number, ppmError: number): ClockKind {
  if (Math.abs(ppm) > ppmError) return 'free-running';
  return ppmError <= 1 ? 'locked' : 'cannot tell';
}
