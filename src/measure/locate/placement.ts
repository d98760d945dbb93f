// The exact place of the programme in every channel of a capture: fraction of a frame, stretch, polarity, and slips between the pilots.
import { type FrameSource, rateHz, type StopSignal, TapeproofError } from '../../base/index.ts';
import { correlationOf, crossSpectrum, fractionalPeak, peakOf } from '../../signal/index.ts';
import { pilotAt } from '../programme/pilot.ts';
import { PROGRAMME_RATES, type ProgrammePlan, type Section } from '../programme/plan.ts';
import { searchChirps } from './chirp-search.ts';
import { type FoundProgramme, findPilots, joinPilots, type Pilot } from './find-pilots.ts';

export interface ChannelPlace {
  /** fractional frame at which the section of each pilot begins in this channel */
  readonly pilots: readonly [number, number, number];
  readonly isInverted: boolean;
  /** share of the pilots' energy that is the pilot, 0 to 1; 0 where this channel does not hold the programme */
  readonly likeness: number;
}

export interface Placement {
  readonly plan: ProgrammePlan;
  /** 0-based channel that all places refer to: the first that holds the programme */
  readonly reference: number;
  /** capture frames per programme second */
  readonly framesPerSecond: number;
  /** by how much the middle pilot is later than the outer two say, frames; a whole number of frames hints at a slip */
  readonly middleOffset: number;
  /** fractional frame of a moment of the programme, in the reference channel */
  frameOf(seconds: number): number;
  /** whole frames by which each channel is later than the reference */
  readonly delays: readonly number[];
  readonly channels: readonly ChannelPlace[];
}

/** Speeds at which chirps are looked for in turn: as labelled, then 44.1 or 48 kHz labels on 31 kHz sound and the reverse, doubles. */
const SPEEDS = [1, 1.5, 0.67, 2, 0.5];
/** A channel holds the programme when this share of a pilot's energy is the pilot. */
export const LEAST_LIKENESS = 0.1;
const COARSE_SECONDS = 0.06;
/** A dubbed pair may be this much later than the original, or earlier. */
const LATEST_SECONDS = 0.8;
const FINE_SECONDS = 0.004;
/** Other speeds cost a search each; in longer captures only the labelled one is tried. */
const MOST_SECONDS_FOR_ALL = 900;

/** Throws `input` when the capture is silent, too short, or holds no whole programme; the message says which pilots were heard. */
export async function locateProgramme(source: FrameSource, stop?: StopSignal): Promise<Placement> {
  const { info } = source;
  const hz = rateHz(info.rate);
  if (info.frames < hz) throw tooShort(source);
  let heard: readonly Pilot[] = [];
  let hasSound = false;
  for (const speed of info.frames < MOST_SECONDS_FOR_ALL * hz ? SPEEDS : [1]) {
    for (let channel = 0; channel < info.channels; channel++) {
      const search = await searchChirps(source, channel, speed, stop);
      hasSound ||= search.hasSound;
      const pilots = findPilots(search.chirps, hz, speed);
      const programme = joinPilots(pilots, hz, speed);
      if (programme) return refine(source, { ...programme, channel });
      if (pilots.length > heard.length) heard = pilots;
    }
    if (!hasSound) break;
  }
  throw notFound(source, hasSound, heard);
}

async function refine(source: FrameSource, coarse: FoundProgramme & { readonly channel: number }): Promise<Placement> {
  const { plan, pilots } = coarse;
  const hz = rateHz(source.info.rate);
  const sections = plan.sections.filter((section) => section.group === 'pilot');
  let perSecond = coarse.stretch * hz;
  // distances between pilots as heard, not as planned: a slip between them must not lose the later ones
  let starts = pilots.map((pilot) => coarse.start + sections[0].start * perSecond + pilot.frame - pilots[0].frame);
  const frames = (seconds: number) => Math.ceil(seconds * hz);
  const place = (channel: number, near: readonly number[], reach: number) =>
    placeChannel(source, channel, sections, near, perSecond, frames(reach));
  // the channel that was searched first, the others as far from it as a dub may be late
  const main = await place(coarse.channel, starts, COARSE_SECONDS);
  starts = [...main.pilots];
  perSecond = (main.pilots[2] - main.pilots[0]) / (sections[2].start - sections[0].start);
  const places: ChannelPlace[] = [];
  for (let c = 0; c < source.info.channels; c++) {
    const near = c === coarse.channel ? main : await place(c, starts, LATEST_SECONDS);
    places.push(await place(c, near.pilots, FINE_SECONDS));
  }
  return placementOf(plan, sections, places, coarse.channel);
}

async function placeChannel(
  source: FrameSource,
  channel: number,
  sections: readonly Section[],
  starts: readonly number[],
  perSecond: number,
  reach: number,
): Promise<ChannelPlace> {
  const found: { frame: number; value: number }[] = [];
  for (const [k, section] of sections.entries()) {
    if (section.sound.kind !== 'pilot') throw new Error('not a pilot');
    const from = Math.round(starts[k]) - reach;
    const frames = Math.ceil(section.length * perSecond);
    const block = await source.read(from, frames + 2 * reach);
    const x = new Float64Array(frames + 2 * reach);
    x.set(Float64Array.from(block.planes[channel]), block.start - from);
    const { codeSeconds } = section.sound;
    const wave = Float64Array.from({ length: frames }, (_, n) => pilotAt(n / perSecond, codeSeconds));
    const spectrum = crossSpectrum(x, wave);
    const peak = fractionalPeak(spectrum, peakOf(correlationOf(spectrum, 0, 2 * reach)));
    const at = Math.max(0, Math.min(2 * reach, Math.round(peak.lag)));
    const norm = Math.sqrt(energy(wave) * energy(x.subarray(at, at + frames)));
    found.push({ frame: from + peak.lag, value: norm === 0 ? 0 : peak.value / norm });
  }
  const value = found.reduce((sum, one) => sum + one.value, 0) / found.length;
  return {
    pilots: [found[0].frame, found[1].frame, found[2].frame],
    isInverted: value < 0,
    likeness: Math.min(1, value * value),
  };
}

function placementOf(
  plan: ProgrammePlan,
  sections: readonly Section[],
  channels: readonly ChannelPlace[],
  reference: number,
): Placement {
  const main = channels[reference];
  const [a, b, c] = sections.map((section) => section.start);
  const framesPerSecond = (main.pilots[2] - main.pilots[0]) / (c - a);
  const middleOffset = main.pilots[1] - main.pilots[0] - (b - a) * framesPerSecond;
  // with a slip each half keeps its own pilots; without one a single straight line is surer
  const isBroken = Math.abs(middleOffset) > 0.5;
  const frameOf = (seconds: number) => {
    if (!isBroken) return main.pilots[0] + (seconds - a) * framesPerSecond;
    const [from, to, at, end] =
      seconds < b ? [a, b, main.pilots[0], main.pilots[1]] : [b, c, main.pilots[1], main.pilots[2]];
    return at + ((seconds - from) / (to - from)) * (end - at);
  };
  const delays = channels.map(({ pilots, likeness }) =>
    likeness < LEAST_LIKENESS ? 0 : Math.round(pilots[0] - main.pilots[0]),
  );
  return { plan, reference, framesPerSecond, middleOffset, frameOf, delays, channels };
}

function energy(x: Float64Array): number {
  let sum = 0;
  for (const value of x) sum += value * value;
  return sum;
}

function tooShort(source: FrameSource): TapeproofError {
  const { info } = source;
  return new TapeproofError('input', 'the capture is too short to hold the test programme', {
    path: info.name,
    expected: 'a capture of the whole programme, a minute and three quarters',
    found: `${info.frames} frames`,
    next: 'write the programme with `tapeproof signal measure`, play it through the device and capture all of it',
  });
}

function notFound(source: FrameSource, hasSound: boolean, heard: readonly Pilot[]): TapeproofError {
  const names = [...new Set(heard.map((pilot) => pilot.name))];
  const found = !hasSound
    ? 'digital silence'
    : names.length > 0
      ? `only the pilot of its ${names.join(' and ')}`
      : 'no pilot of it';
  return new TapeproofError('input', 'the test programme is not in this capture, or not whole', {
    path: source.info.name,
    expected: `pilots at start, middle and end of the programme, written at ${PROGRAMME_RATES.join(', ')} Hz`,
    found,
    next: hasSound
      ? 'capture the whole programme in one piece, from before its first chirp to after its last; check level and cabling'
      : 'check which input the recorder took and whether the device was playing',
  });
}
