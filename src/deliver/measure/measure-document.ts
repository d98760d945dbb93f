// The JSON documents of `signal` and `measure`, and how they are built from plain results. Programs rely on their keys (docs/json.md).
// Not for their text faces.
import type { Rate } from '../../base/index.ts';
import type {
  CaptureMeasurement,
  ChannelDelay,
  ChannelMeasurement,
  ClockReading,
  Identity,
} from '../../measure/index.ts';
import type { Digests, FailedFile } from '../documents.ts';

export interface SignalSection {
  readonly id: string;
  readonly start: number;
  readonly length: number;
  /** 0: both channels alike */
  readonly channel: 0 | 1 | 2;
  /** peak, dB below full scale; null for silence */
  readonly levelDb: number | null;
}

export interface SignalDocument {
  readonly schema: 'tapeproof/signal@1';
  readonly signal: string;
  readonly path: string;
  readonly rate: Rate;
  readonly bits: number;
  readonly channels: number;
  readonly frames: number;
  readonly digests: Digests;
  readonly sections: readonly SignalSection[];
  readonly warnings: readonly string[];
  /** file with the warnings that was written beside it; absent where none was */
  readonly caution?: string;
}

export interface MeasuredCapture {
  readonly path: string;
  readonly rate: Rate;
  readonly bits: number;
  readonly channelCount: number;
  readonly frames: number;
  readonly programme: {
    readonly version: number;
    readonly rate: Rate;
    readonly bits: number;
    /** fractional frames of the capture */
    readonly startFrame: number;
    readonly endFrame: number;
  };
  readonly clock: ClockReading;
  readonly delays: readonly ChannelDelay[];
  readonly absent: readonly number[];
  /** channel (1-based) that stands for the capture where only one is shown */
  readonly reference: number;
  readonly channels: readonly ChannelMeasurement[];
  readonly identity: Identity;
  readonly doubts: readonly string[];
}

export interface MeasureDocument {
  readonly schema: 'tapeproof/measure@1';
  readonly captures: readonly MeasuredCapture[];
  readonly failed?: readonly FailedFile[];
  /** folder the files went to, with their names; absent when none were asked for */
  readonly written?: readonly string[];
}

export function measuredCapture(
  info: {
    readonly path: string;
    readonly rate: Rate;
    readonly bits: number;
    readonly channels: number;
    readonly frames: number;
  },
  measurement: CaptureMeasurement,
  identity: Identity,
): MeasuredCapture {
  const { placement, clock, delays, absent, channels, doubts, reference } = measurement;
  return {
    path: info.path,
    rate: info.rate,
    bits: info.bits,
    channelCount: info.channels,
    frames: info.frames,
    programme: {
      version: placement.plan.version,
      rate: placement.plan.rate,
      bits: placement.plan.bits,
      startFrame: placement.frameOf(0),
      endFrame: placement.frameOf(placement.plan.seconds),
    },
    clock,
    delays,
    absent,
    reference: reference + 1,
    channels,
    identity,
    doubts,
  };
}

export function measureDocument(captures: readonly MeasuredCapture[], failed: readonly FailedFile[]): MeasureDocument {
  return { schema: 'tapeproof/measure@1', captures, ...(failed.length > 0 ? { failed } : {}) };
}

/** The channel that stands for a capture. */
export function mainChannel(capture: MeasuredCapture): ChannelMeasurement {
  return capture.channels.find((one) => one.channel === capture.reference) ?? capture.channels[0];
}
