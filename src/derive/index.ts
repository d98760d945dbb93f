// Door of derive/: corrected copies of captures, for derivatives that name their parent.
export { type Derivation, type Derived, derive } from './derive.ts';
export type { SplitPair } from './split-words.ts';
