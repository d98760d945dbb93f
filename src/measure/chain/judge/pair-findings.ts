// What only the places of the channels tell: which channel is where, delay between them, slips, another rate, a wrong label. Not for values (judge-channel.ts).
import { type FrameInfo, rateHz } from '../../../base/index.ts';
import { type ChainSignal, signalFrames } from '../layout.ts';
import type { DriftingClock } from './clock.ts';
import type { ChainFinding } from './finding.ts';
import { type Fraction, simplestFraction } from './simple-ratio.ts';
import type { Track } from './track.ts';

/** Delays between channels below this are no more than the error of two places. */
const LEAST_DELAY_FRAMES = 0.02;

export function bothFindings(
  info: FrameInfo,
  signal: ChainSignal,
  tracks: readonly Track[],
  numberOf: (track: Track) => number,
  /** both sent channels stand in each captured one: which is which cannot be asked */
  isMixed: boolean,
): ChainFinding[] {
  return [
    ...(isMixed ? [] : channelFindings(tracks, numberOf)),
    ...delayFindings(tracks, numberOf),
    ...tracks.flatMap((track) => slipFinding(signal, track, numberOf(track))),
    ...rateFinding(info, signal, tracks, numberOf),
  ];
}

function channelFindings(tracks: readonly Track[], numberOf: (track: Track) => number): ChainFinding[] {
  const all = tracks.map(numberOf);
  const missing = [0, 1].filter((source) => !tracks.some((track) => track.source === source));
  const out: ChainFinding[] = [];
  if (tracks.length > 1 && missing.length > 0) {
    out.push({ kind: 'duplicate', source: tracks[0].source + 1, channels: all });
  }
  out.push(...missing.map((source): ChainFinding => ({ kind: 'missing', source: source + 1, channels: [] })));
  if (missing.length > 0) return out;
  // pairs in order: first and second in turn
  const misplaced = tracks.filter((track, k) => track.source !== k % 2);
  if (misplaced.length > 0) out.push({ kind: 'swap', channels: misplaced.map(numberOf) });
  else if (tracks.length % 2 === 1) out.push({ kind: 'missing', source: 2, channels: [] });
  return out;
}

function delayFindings([first, ...others]: readonly Track[], numberOf: (track: Track) => number): ChainFinding[] {
  return others.flatMap((track): ChainFinding[] => {
    const frames = lateness(track) - lateness(first);
    if (Math.abs(frames) <= LEAST_DELAY_FRAMES) return [];
    const channels = [numberOf(track)];
    return [{ kind: 'delay', frames: rounded(frames), uncertainty: LEAST_DELAY_FRAMES, channels }];
  });
}

/** Captured frame at which sent frame 0 would lie. */
function lateness({ clock, pieces }: Track): number {
  if (clock.kind === 'drifting') return clock.lines[0].offset;
  return pieces[0].start - pieces[0].sentAt + clock.fractionFrames;
}

function rounded(frames: number): number {
  const whole = Math.round(frames);
  return Math.abs(frames - whole) < LEAST_DELAY_FRAMES ? whole : frames;
}

function slipFinding(signal: ChainSignal, { slips }: Track, channel: number): ChainFinding[] {
  if (slips.length === 0) return [];
  const net = slips.reduce((sum, slip) => sum + slip.frames, 0);
  return [{ kind: 'slips', slips, net, ppm: (net / signalFrames(signal)) * 1e6, channels: [channel] }];
}

function rateFinding(
  info: FrameInfo,
  signal: ChainSignal,
  tracks: readonly Track[],
  numberOf: (track: Track) => number,
): ChainFinding[] {
  const channels = tracks.map(numberOf);
  const [labelHz, sentHz] = [rateHz(info.rate), rateHz(signal.rate)];
  const clock = tracks.map((track) => track.clock).find((one): one is DriftingClock => one.kind === 'drifting');
  // a header that holds whole numbers only cannot name a fractional rate better
  const isLabelled = (hz: number, part: number) => Math.abs(labelHz - hz) < Math.max(1, part * hz);
  if (!clock) return isLabelled(sentHz, 1e-5) ? [] : [{ kind: 'rate-label', labelHz, sentHz, channels }];
  const nominal = nominalRatio(clock.ratio, labelHz / sentHz);
  const uncertainty = 3 * clock.ratioSpread;
  const own = nominal.num / nominal.den;
  return [
    {
      kind: 'rate-conversion',
      ratio: clock.ratio,
      uncertainty,
      nominal,
      ppm: (clock.ratio / own - 1) * 1e6,
      ppmUncertainty: (uncertainty / own) * 1e6,
      scatterFrames: clock.scatterFrames,
      channels,
    },
    // clocks a thousandth apart are no matter of labels
    ...(isLabelled(sentHz * own, 2e-3)
      ? []
      : [{ kind: 'rate-label' as const, labelHz, sentHz: sentHz * own, channels }]),
  ];
}

/** The ratio of usual rates that lies nearest: 1, what the label says, or one of two usual rates. */
function nominalRatio(ratio: number, label: number): Fraction {
  const usual = [1, label, 1001 / 1000, 1000 / 1001, ...USUAL.flatMap((a) => USUAL.map((b) => a / b))];
  const nearest = usual.reduce((a, b) => (Math.abs(b / ratio - 1) < Math.abs(a / ratio - 1) - 1e-9 ? b : a));
  return simplestFraction(nearest * (1 - 1e-9), nearest * (1 + 1e-9)) ?? { num: nearest, den: 1 };
}

const USUAL = [32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000];
