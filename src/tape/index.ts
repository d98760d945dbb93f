// Door of tape/: what is known of each tape format, as frozen data. No computing, no judging of recordings.
export * from './describe-format.ts';
export { type Certainty, certaintyMark, type Fact, type MaybeFact, type UnknownFact } from './fact.ts';
export * from './find-format.ts';
export * from './format.ts';
export { dvTrackLoss, dvTrackOf } from './formats/dv-losses.ts';
export * from './laws/index.ts';
export * from './loss-pattern.ts';
export * from './status/index.ts';
export { type Misplay, misplays } from './wrong-replay.ts';
