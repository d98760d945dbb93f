// Door of signal/.
export { ANCHOR_WINDOW, type AnchorList, AnchorScanner, type AnchorScanSettings } from './anchors.ts';
export * from './book-evidence.ts';
export * from './code-set.ts';
export * from './companding.ts';
export { convolveInside } from './convolve.ts';
export {
  type Correlation,
  type CrossSpectrum,
  correlationOf,
  crossSpectrum,
  fractionalPeak,
  type Peak,
  peakOf,
  peakSignificance,
  whiten,
} from './correlate.ts';
export { deEmphasisTaps, emphasisDb } from './emphasis.ts';
export { type Fft, fftPlan, fftSize, powerSpectrum } from './fft.ts';
export { fitPredictor, type Predictor, predictionResidual } from './linear-prediction.ts';
export { LoudnessMeter, type LoudnessReading } from './loudness.ts';
export { median } from './median.ts';
export { orderOf } from './order.ts';
export { Random } from './random.ts';
export {
  delayTaps,
  type Ratio,
  type RealResampler,
  type ResampleOptions,
  realResampler,
  resample,
  resampleReal,
} from './resample.ts';
export {
  BREAK_CELL,
  BREAK_ROUNDING,
  BREAKS_PER_OCTAVE,
  type Break,
  breakRatioOf,
  findBreaks,
  fourthDifference,
  largestBeside,
  newBreakCounts,
  plainBreaks,
} from './simd/breaks.ts';
export { isPackable24, pack24, unpack24 } from './simd/interleave.ts';
export { LOOK_STRIDE, largestLooks } from './simd/largest-looks.ts';
export {
  type LowestBits,
  lowestBits,
  mayHold,
  type PlaneStatistics,
  planeStatistics,
} from './simd/plane-statistics.ts';
export { solveSymmetric } from './simd/predictor-fit.ts';
export {
  firstDifference,
  holdCells,
  MOST_KERNEL_BITS,
  meanCells,
  sumBetween,
  zeroRuns,
} from './simd/scans.ts';
export { joinSharedPlanes, makeSharedPlanes, type SharedPlanes } from './simd/shared-planes.ts';
export type { WindowFacts } from './simd/window-facts.ts';
export { besideEachOther, MATCH_WINDOW, newWindowTable, SHORTEST_MATCH, windowMatches } from './simd/window-matches.ts';
export { StepCounter } from './step.ts';
export {
  type CodeWord,
  hasEvenZeros,
  type NewWord,
  packWord,
  unpackWord,
  type WordFields,
} from './timecode/code-word.ts';
export { type TimecodeSignal, type WrittenTimecode, writeTimecode } from './timecode/encode-timecode.ts';
export { readTimecode, type TimecodeReading, type TimecodeSection } from './timecode/sections.ts';
export {
  addressOf,
  formatAddress,
  frameNumber,
  framesPerDay,
  isAddress,
  type Numbering,
  parseAddress,
  type TimeAddress,
} from './timecode/time-address.ts';
export { positionAt } from './timecode/time-line.ts';
export { TimecodeDecoder } from './timecode/timecode-decoder.ts';
export { type SectionSummary, type TimecodeSummary, timecodeSummary } from './timecode/timecode-summary.ts';
export type { FoundWord } from './timecode/word-finder.ts';
export { WordList } from './timecode/word-list.ts';
export { TruePeakMeter, type TruePeakReading } from './true-peak.ts';
export { TRUE_PEAK_PASSBAND, TRUE_PEAK_TAPS } from './true-peak-filter.ts';
