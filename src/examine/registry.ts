// The detectors that run by default, in the order of the report. Adding one: docs/CONTRIBUTING.
import { click } from './click/click.ts';
import { clipping } from './clipping/clipping.ts';
import { codeBook } from './code-book/code-book.ts';
import { held } from './concealment/held.ts';
import { interpolated } from './concealment/interpolated.ts';
import { muted } from './concealment/muted.ts';
import { dcDrift } from './dc-drift/dc-drift.ts';
import type { Detector } from './detector.ts';
import { emphasis } from './emphasis/emphasis.ts';
import { innerSlip } from './inner-slip/inner-slip.ts';
import { levels } from './levels/levels.ts';
import { loudness } from './loudness/loudness.ts';
import { nonAudio } from './non-audio/non-audio.ts';
import { recorded } from './recorded/recorded.ts';
import { relations } from './relations/relations.ts';
import { repeated } from './repeated/repeated.ts';
import { scaledLattice } from './scaled-lattice/scaled-lattice.ts';
import { skew } from './skew/skew.ts';
import { splitWords } from './split-words/split-words.ts';
import { timecode } from './timecode/timecode.ts';
import { truePeak } from './true-peak/true-peak.ts';
import { truncation } from './truncation/truncation.ts';
import { wordLength } from './word-length/word-length.ts';

export const DETECTORS: readonly Detector[] = [
  wordLength,
  codeBook,
  recorded,
  levels,
  clipping,
  relations,
  interpolated,
  held,
  muted,
  loudness,
  truePeak,
  repeated,
  click,
  scaledLattice,
  skew,
  splitWords,
  emphasis,
  nonAudio,
  timecode,
  dcDrift,
  truncation,
  innerSlip,
].map(widen);

/** Settings are merged over the detector's own defaults, so a detector only ever sees its own. */
function widen(detector: { readonly meta: { readonly id: string } }): Detector {
  return detector as Detector;
}
