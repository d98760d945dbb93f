// Whether the gain follows the level: the octaves of the bursts against the hiss. Not for filters, which change both alike.
import { db } from '../../analyse/measured.ts';
import type { ChainChange } from './finding.ts';
import type { Survey } from './survey.ts';

/** Departures of the gain that are worth a word: a hundredth, behind a filter a quarter of a decibel, and not by chance. */
const DEPARTURE = 0.01;
const FILTERED_DEPARTURE = 0.03;
const SURE = 6;
/** Only bursts are louder than five octaves below full scale. */
const LOUD_OCTAVES = 5;

/** `isFiltered`: a filter leaves each octave of the bursts another share of its spectrum, which is no change of gain. */
export function limiterOf({ levels, gain }: Survey, isFiltered: boolean): ChainChange | undefined {
  const reference = gain.value;
  const off = levels
    .slice(0, LOUD_OCTAVES)
    .map(({ gain: one, levelDb }) => ({
      ratio: one.value / reference,
      spread: one.spread / Math.abs(reference),
      levelDb,
    }))
    .filter(
      ({ ratio, spread }) => Math.abs(ratio - 1) > Math.max(isFiltered ? FILTERED_DEPARTURE : DEPARTURE, SURE * spread),
    );
  if (off.length === 0) return undefined;
  const strongest = off.reduce((a, b) => (Math.abs(b.ratio - 1) > Math.abs(a.ratio - 1) ? b : a));
  return {
    kind: 'limiter',
    way: strongest.ratio < 1 ? 'less when loud' : 'more when loud',
    fromDb: Math.min(...off.map(({ levelDb }) => levelDb)),
    mostDb: db(Math.abs(strongest.ratio)),
    levels,
  };
}
