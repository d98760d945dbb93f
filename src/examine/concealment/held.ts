// Detector: samples that repeat the one before them (zero order), in rows or on a lattice. Not for zeros (muted.ts) nor for
// flat tops (clipping).
import { holdRule } from './hits.ts';
import { latticeDetector } from './lattice-detector.ts';

export const held = latticeDetector('held', 8, 'Held samples (zero order)', holdRule);
