// Detector: samples the deck estimated from their neighbours (first order): single lattices, lines, one head lost.
import { meanRule } from './hits.ts';
import { latticeDetector } from './lattice-detector.ts';

export const interpolated = latticeDetector('interpolated', 7, 'Interpolated samples (first order)', meanRule);
