// Door of simulate/: a tape, a deck and a chain in memory, with the truth beside the samples.
export type { AnaloguePath, ChainOutput, ChainStep, ChainTruth } from './chain.ts';
export {
  COMMON_POLICY,
  type Concealed,
  type ConcealPolicy,
  type ConcealRule,
  conceal,
  type ReadTape,
} from './conceal.ts';
export type { ConcealMethod, Rounding } from './cover.ts';
export { type Damage, damageOf, type Loss, type LostSpan } from './damage.ts';
export { encodeTape, type Sound, type TapeRecording, type TapeWords } from './encode.ts';
export { frameLengthsOf, type HeadLoss, headLosses } from './format-damage.ts';
export { HEARD_BITS, type HeardFormat, type HearOptions, hearFormat } from './hear/hear-format.ts';
export type { HeardDamage } from './hear/heard-damage.ts';
export { type ProgrammeSpec, synthesiseProgramme } from './programme.ts';
export { type ChanceDamage, chanceLosses, lossAt, tornSpot } from './random-damage.ts';
export {
  type CaptureSpec,
  type CaptureTruth,
  type PassSpec,
  type SimulatedCapture,
  type SimulatedTransfer,
  simulateTransfer,
  type TransferSpec,
} from './session.ts';
export type { LossKind, TruthEvent, TruthRelation, TruthSegment, TruthSlip } from './truth.ts';
