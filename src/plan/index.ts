// Door of plan/: which deck, which cable, which recorder in which pass, at what cost and why. No files, no texts for people.
export * from './bench.ts';
export { type ConnectionKind, plugKinds } from './connection.ts';
export { isClockedKind } from './fit-recorder.ts';
export { makePlan } from './make-plan.ts';
export type * from './plan.ts';
export type { Reason, ReasonCode } from './reason.ts';
