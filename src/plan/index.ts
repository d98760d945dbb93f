// Door of plan/: which deck, which cable, which recorder in which pass, at what cost and why. No files, no texts for people.
export type * from './bench.ts';
export { makePlan } from './make-plan.ts';
export type * from './plan.ts';
export type { Reason, ReasonCode } from './reason.ts';
