// Door of derive/: corrected copies of captures, for derivatives that name their parent.
export { coverLost } from './cover-lost.ts';
export { type Derivation, type Derived, derive } from './derive.ts';
export type { SplitPair } from './split-words.ts';
