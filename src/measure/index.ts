// Door of measure/: the test programme, what a capture of it says of the device, and what the device is; the chain's test signal.
export type { ChannelDelay, ClockReading } from './analyse/clock-reading.ts';
export { type CaptureMeasurement, type ChannelMeasurement, measureCapture } from './analyse/measure-capture.ts';
export type { Measured } from './analyse/measured.ts';
export type { ChainFinding } from './chain/judge/finding.ts';
export { type ChainJudgement, type ChainVerdict, judgeChain } from './chain/judge/judge-chain.ts';
export { type ChainSignal, chainSignal, signalFrames as chainSignalFrames } from './chain/layout.ts';
export { signalParts } from './chain/signal-parts.ts';
export { signalSource } from './chain/test-signal.ts';
export type { Answer, Candidate, SignalPath } from './identify/answer.ts';
export { type Identity, identify } from './identify/identify.ts';
export { programmePlan } from './programme/plan.ts';
export {
  levelOf,
  PROGRAMME_CHANNELS,
  placeSections,
  programmeBlocks,
  programmeFrames,
} from './programme/write-programme.ts';
