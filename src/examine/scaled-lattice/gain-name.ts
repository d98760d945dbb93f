// What to call a measured gain: a simple ratio or a round number of decibels where the measurement is sharp enough that such a
// neighbour is no coincidence; otherwise nothing. Not for measuring it.

export interface GainName {
  readonly ratio: string | null;
  readonly decibels: number;
  /** the value is a multiple of this many decibels, or null */
  readonly roundDb: number | null;
}

/** A neighbour counts when no more than one in fifty measurements would have one so near by chance. */
const CHANCE = 0.02;

export function nameGain(gain: number, uncertainty: number): GainName {
  const decibels = 20 * Math.log10(gain);
  const errorDb = (20 / Math.LN10) * (uncertainty / gain);
  const roundDb = [6, 3, 1, 0.5, 0.1, 0.01].find(
    (grid) => Math.abs(decibels - grid * Math.round(decibels / grid)) <= errorDb && (2 * errorDb) / grid <= CHANCE,
  );
  return { ratio: simpleRatio(gain, uncertainty), decibels: Number(decibels.toFixed(4)), roundDb: roundDb ?? null };
}

/** Fractions with denominators up to n lie about 3 / n^2 apart. */
function simpleRatio(gain: number, uncertainty: number): string | null {
  for (let den = 1; den <= 100; den++) {
    if (2 * uncertainty * den * den > 3 * CHANCE) return null;
    const num = Math.round(gain * den);
    if (num > 0 && Math.abs(gain - num / den) <= uncertainty) return `${num}/${den}`;
  }
  return null;
}
