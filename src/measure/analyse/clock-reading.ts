// Time: the true rate against the label, and delays between channels, from the pilots.
import { type FrameInfo, rateHz } from '../../base/index.ts';
import type { ChannelPlace, Placement } from '../locate/placement.ts';
import { CHIRP_SECONDS } from '../programme/pilot.ts';
import { COVERAGE, type Measured, measured } from './measured.ts';

export interface ClockReading {
  /** frames per second of the programme's own time, Hz */
  readonly trueRateHz: Measured;
  /** against the label; includes the clock of whatever played the programme */
  readonly errorPpm: Measured;
  /** frames by which the middle of the programme is late, seen from its ends: about 0 unless samples were lost or repeated */
  readonly middleOffsetFrames: Measured;
}

export interface ChannelDelay {
  /** 1-based channel of the capture */
  readonly channel: number;
  /** later than the reference channel, frames of the capture */
  readonly delayFrames: Measured;
  readonly delaySeconds: Measured;
  readonly isInverted: boolean;
}

/** What interpolation of the correlation peak may err by, frames. */
const METHOD_FRAMES = 0.003;
/** Root mean square frequency of the pilot, Hz; for the bound on its timing (certainty D). */
const PILOT_RMS_HZ = 2200;

export function clockReading(info: FrameInfo, place: Placement, main: ChannelPlace): ClockReading {
  const label = rateHz(info.rate);
  const [a, , c] = main.pilots;
  const error = COVERAGE * Math.SQRT2 * timingSigma(main, place.framesPerSecond) + METHOD_FRAMES;
  const relative = error / (c - a);
  return {
    trueRateHz: measured(place.framesPerSecond, relative * place.framesPerSecond),
    errorPpm: measured((place.framesPerSecond / label - 1) * 1e6, relative * (place.framesPerSecond / label) * 1e6),
    middleOffsetFrames: measured(place.middleOffset, 1.5 * error),
  };
}

/** Every channel that holds the programme against `reference` (0-based). */
export function channelDelays(place: Placement, reference: number, channels: readonly number[]): ChannelDelay[] {
  const base = place.channels[reference];
  return channels
    .filter((c) => c !== reference)
    .map((c) => {
      const one = place.channels[c];
      const apart = one.pilots.map((frame, k) => frame - base.pilots[k]);
      const mean = apart.reduce((sum, x) => sum + x, 0) / apart.length;
      const scatter = Math.max(...apart) - Math.min(...apart);
      const sigma = Math.hypot(timingSigma(one, place.framesPerSecond), timingSigma(base, place.framesPerSecond));
      const error = Math.max((COVERAGE * sigma) / Math.sqrt(3), scatter) + METHOD_FRAMES;
      return {
        channel: c + 1,
        delayFrames: measured(mean, error),
        delaySeconds: measured(mean / place.framesPerSecond, error / place.framesPerSecond),
        isInverted: one.isInverted !== base.isInverted,
      };
    });
}

/** One standard deviation of a pilot's place, frames (bound of Cramer and Rao for a known wave in white noise). */
function timingSigma({ likeness }: ChannelPlace, framesPerSecond: number): number {
  const samples = 3 * CHIRP_SECONDS * framesPerSecond;
  const ratio = likeness / Math.max(1e-9, 1 - likeness);
  return framesPerSecond / (2 * Math.PI * PILOT_RMS_HZ * Math.sqrt(samples * ratio));
}
