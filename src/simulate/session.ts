// A whole simulated transfer in memory: one tape, its passes on decks, the captures of the recorders, and the truth of every
// capture in its own frames. Not for files: callers write the planes.
import { type Rate, type Span, spanEnd } from '../base/index.ts';
import { Random } from '../signal/index.ts';
import { type ChainStep, type ChainTruth, runChain } from './chain.ts';
import { COMMON_POLICY, type Concealed, type ConcealPolicy, conceal } from './conceal.ts';
import { type Damage, damageOf, joinDamage, type LostSpan, lostSpans } from './damage.ts';
import type { TapeRecording } from './encode.ts';
import { LOSS_KINDS, type TruthEvent, type TruthSegment } from './truth.ts';

export interface PassSpec {
  readonly pass: number;
  /** of this run only; comes on top of the tape's own */
  readonly damage?: Damage;
  readonly policy?: ConcealPolicy;
}

export interface CaptureSpec {
  readonly name: string;
  readonly pass: number;
  readonly recorder: string;
  /** tape channel (1-based) of each file channel, before the chain */
  readonly channels: readonly number[];
  /** tape frame at which the recorder started; negative: it ran before the deck played and recorded digital silence */
  readonly startFrame: number;
  /** tape frame at which it stopped; beyond the end of the tape comes digital silence. Default: the end */
  readonly endFrame?: number;
  readonly chain?: readonly ChainStep[];
}

export interface TransferSpec {
  readonly seed: number;
  readonly tape: TapeRecording;
  /** on the tape itself: every pass meets it */
  readonly damage?: Damage;
  readonly passes: readonly PassSpec[];
  readonly captures: readonly CaptureSpec[];
}

export interface CaptureTruth extends ChainTruth {
  /** capture frames [start, start+length) are tape frames from start+offset; frames of lead-in and tail lie in none */
  readonly segments: readonly TruthSegment[];
  /** in capture frames and file channels (1-based); `changed` counts samples that left the deck other than recorded */
  readonly events: readonly TruthEvent[];
  /** digital silence before and after the deck played, in frames */
  readonly leadIn: number;
  readonly tail: number;
  /** tape channel of each file channel after the chain, as it really is */
  readonly channels: readonly number[];
}

export interface SimulatedCapture {
  readonly name: string;
  readonly pass: number;
  readonly recorder: string;
  /** as the transfer sheet would claim; a chain that swaps channels makes it wrong */
  readonly channels: readonly number[];
  readonly planes: Int32Array[];
  readonly bits: number;
  readonly rate: Rate;
  readonly truth: CaptureTruth;
}

export interface SimulatedTransfer {
  readonly captures: SimulatedCapture[];
  readonly tape: TapeRecording;
  /** damage common to all passes */
  readonly tapeLosses: readonly LostSpan[];
  /** what each pass replayed, with its events in tape frames */
  readonly passes: readonly (Concealed & { readonly pass: number })[];
}

/** Deterministic by the seed. Throws a plain Error for a capture of a pass that is not listed. */
export function simulateTransfer(spec: TransferSpec): SimulatedTransfer {
  const { tape } = spec;
  const none = () => damageOf(tape.planes.length, tape.planes[0].length, []);
  const passes = spec.passes.map(({ pass, damage, policy }) => {
    const all = damage ? joinDamage(spec.damage ?? none(), damage) : (spec.damage ?? none());
    return { pass, ...conceal(tape, all, policy ?? COMMON_POLICY) };
  });
  const random = new Random(spec.seed);
  const captures = spec.captures.map((capture) => {
    const pass = passes.find((p) => p.pass === capture.pass);
    if (!pass) throw new Error(`${capture.name}: there is no pass ${capture.pass}`);
    return record(capture, pass, tape, random.fork(`capture ${capture.name}`));
  });
  return { captures, tape, tapeLosses: spec.damage ? lostSpans(spec.damage) : [], passes };
}

function record(spec: CaptureSpec, pass: Concealed, tape: TapeRecording, random: Random): SimulatedCapture {
  const window = windowOf(spec, tape.planes[0].length);
  const heard = spec.channels.map((channel) => {
    const plane = new Int32Array(window.frames);
    plane.set(pass.planes[channel - 1].subarray(window.from, window.to), window.leadIn);
    return plane;
  });
  const { planes, bits, truth: chain } = runChain(heard, tape.bits, spec.chain ?? [], random);
  const channels = chain.channelOrder.map((channel) => spec.channels[channel - 1]);
  const segments = placeSegments(chain, spec.startFrame, window);
  const events = channels.flatMap((channel, c) => captureEvents(pass, tape, channel, c + 1, segments, chain));
  return {
    ...{ name: spec.name, pass: spec.pass, recorder: spec.recorder, channels: spec.channels },
    ...{ planes, bits, rate: tape.rate },
    truth: { ...chain, segments, events, leadIn: window.leadIn, tail: window.tail, channels },
  };
}

interface Window {
  readonly from: number;
  readonly to: number;
  readonly leadIn: number;
  readonly tail: number;
  readonly frames: number;
}

function windowOf(spec: CaptureSpec, tapeFrames: number): Window {
  const end = spec.endFrame ?? tapeFrames;
  const from = Math.min(tapeFrames, Math.max(0, spec.startFrame));
  const to = Math.max(from, Math.min(tapeFrames, end));
  const leadIn = from - spec.startFrame;
  const tail = Math.max(0, end - to);
  return { from, to, leadIn, tail, frames: leadIn + to - from + tail };
}

/** The chain's segments against the tape, without the silence around it. */
function placeSegments(chain: ChainTruth, startFrame: number, window: Window): TruthSegment[] {
  const stretch = 1 + chain.driftPpm / 1e6;
  return chain.segments.flatMap((segment) => {
    const offset = segment.offset + startFrame;
    // under drift an input frame at distance d from the segment's start lies at d * stretch
    const firstInput = segment.start + offset;
    const at = (input: number) => segment.start + Math.round((input - firstInput) * stretch);
    const start = Math.max(segment.start, at(window.from));
    const end = Math.min(spanEnd(segment), at(window.to));
    const shift = Math.round(firstInput + (start - segment.start) / stretch) - start;
    return end > start ? [{ start, length: end - start, offset: shift }] : [];
  });
}

/** The events of one tape channel as one capture holds them: clipped to what was recorded, in capture frames. */
function captureEvents(
  pass: Concealed,
  tape: TapeRecording,
  tapeChannel: number,
  fileChannel: number,
  segments: readonly TruthSegment[],
  chain: ChainTruth,
): TruthEvent[] {
  const stretch = 1 + chain.driftPpm / 1e6;
  const original = tape.planes[tapeChannel - 1];
  const played = pass.planes[tapeChannel - 1];
  const marks = pass.kinds[tapeChannel - 1];
  const found = new Map<TruthEvent, TruthEvent>();
  const ofChannel = pass.events.filter((event) => event.channel === tapeChannel);
  for (const segment of segments) {
    const from = segment.start + segment.offset;
    const to = from + Math.round(segment.length / stretch);
    for (const event of ofChannel) {
      if (event.start >= to || spanEnd(event) <= from) continue;
      const part = countPart(event, { start: from, length: to - from }, marks, original, played);
      if (part.samples === 0) continue;
      const at = (frame: number) => segment.start + Math.round((frame - from) * stretch);
      const start = at(part.first);
      const moved = { start, length: Math.max(1, at(part.last + 1) - start), ...part };
      found.set(event, joinParts(event, fileChannel, found.get(event), moved));
    }
  }
  return [...found.values()].sort((a, b) => a.start - b.start);
}

function countPart(event: TruthEvent, within: Span, marks: Uint8Array, original: Int32Array, played: Int32Array) {
  const mark = LOSS_KINDS.indexOf(event.kind) + 1;
  let [samples, changed, first, last] = [0, 0, 0, 0];
  for (let i = Math.max(event.start, within.start); i < Math.min(spanEnd(event), spanEnd(within)); i++) {
    if (marks[i] !== mark) continue;
    if (samples === 0) first = i;
    last = i;
    samples++;
    if (original[i] !== played[i]) changed++;
  }
  return { samples, changed, first, last };
}

/** An event cut by a slip stays one event, with the repeated samples counted twice as the capture holds them. */
function joinParts(
  event: TruthEvent,
  channel: number,
  before: TruthEvent | undefined,
  part: Span & { readonly samples: number; readonly changed: number },
): TruthEvent {
  const start = before ? Math.min(before.start, part.start) : part.start;
  const end = before ? Math.max(spanEnd(before), spanEnd(part)) : spanEnd(part);
  const samples = part.samples + (before?.samples ?? 0);
  const changed = part.changed + (before?.changed ?? 0);
  return { ...event, channel, start, length: end - start, samples, changed };
}
