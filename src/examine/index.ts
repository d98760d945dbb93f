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
