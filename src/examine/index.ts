// Door of examine/: detectors, the one streaming pass, findings and verdicts.
export { statisticsOf, tellLowestBits } from './block-statistics.ts';
export * from './detector.ts';
export * from './finding.ts';
export {
  type FlagContradiction,
  type FlagStretch,
  type InterfaceReading,
  judgeInterface,
  type MeasuredSide,
} from './interface/judge-interface.ts';
export type { ValidityHabit } from './interface/validity-habit.ts';
export * from './pass.ts';
export {
  type Boundary,
  ProgrammeFinder,
  type ProgrammeSettings,
  type Sureness,
} from './programmes/programme-finder.ts';
export { DETECTORS } from './registry.ts';
export { judgeRate, type RateAnswer, type RateEvidence } from './true-rate/judge-rate.ts';
export { lossPeriod } from './true-rate/loss-period.ts';
export { type RateChange, type RateStretch, rateChanges, rateStretches } from './true-rate/rate-segments.ts';
export { StillGaps } from './true-rate/still-gaps.ts';
