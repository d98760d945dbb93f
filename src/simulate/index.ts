// Door of simulate/: a tape, a deck and a chain in memory, with the truth beside the samples.
export {
  COMMON_POLICY,
  type Concealed,
  type ConcealPolicy,
  type ConcealRule,
  conceal,
  type ReadTape,
} from './conceal.ts';
export type { ConcealMethod, Rounding } from './cover.ts';
export { countLost, type Damage, damageOf, joinDamage, type Loss, type LostSpan, lostSpans } from './damage.ts';
export type { LossKind, TruthEvent, TruthRelation, TruthSegment, TruthSlip } from './truth.ts';
