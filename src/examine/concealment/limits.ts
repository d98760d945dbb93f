// What a row of replaced samples must be to be seen at all, by how rough the sound is: the detection limit of a channel in
// figures. The chance of one sample is the generous one of the first look; judge.ts may ask for more.

const BINS = 128;
const PER_OCTAVE = 4;

/** Counts cells of sound by roughness (in quantising steps), so that quantiles cost no memory. */
export class RoughnessTally {
  readonly #bins = new Float64Array(BINS);
  #cells = 0;

  add(roughnessSteps: number, cells = 1): void {
    const bin = Math.floor(PER_OCTAVE * Math.log2(Math.max(2 ** -8, roughnessSteps))) + 8 * PER_OCTAVE;
    this.#bins[Math.min(BINS - 1, Math.max(0, bin))] += cells;
    this.#cells += cells;
  }

  /** Roughness that the given share of the sound does not exceed; undefined without sound. */
  quantile(share: number): number | undefined {
    if (this.#cells === 0) return undefined;
    let sum = 0;
    for (let bin = 0; bin < BINS; bin++) {
      sum += this.#bins[bin];
      if (sum >= share * this.#cells) return 2 ** ((bin - 8 * PER_OCTAVE + 0.5) / PER_OCTAVE);
    }
    return undefined;
  }
}

/** What a verdict says of rows that can be seen. `enough`: as of `shortestVisible`. */
export function visibleRows(
  rough: RoughnessTally,
  width: number,
  { chanceLimit, enough }: { readonly chanceLimit: number; readonly enough: number },
) {
  const visible = (share: number) => {
    const roughness = rough.quantile(share);
    return roughness === undefined ? undefined : shortestVisible(roughness, width, enough);
  };
  const [half, quietest] = [visible(0.5), visible(0.1)];
  const say = (count: number | undefined) =>
    count === undefined ? 'no row however long' : `rows from about ${count} samples`;
  return {
    text:
      `lone samples cannot be seen; in half of the sound ${say(half)} can, in its quietest tenth ${say(quietest)} ` +
      `(at most ${chanceLimit} by chance in the whole channel)`,
    evidence: { shortestVisibleMedian: half ?? null, shortestVisibleQuietestTenth: quietest ?? null },
  };
}

/** Fewest replaced samples whose chance stays below the limit in sound of that roughness; undefined when no number is enough. */
export function shortestVisible(roughnessSteps: number, width: number, enough: number): number | undefined {
  const chance = (0.4 * width) / Math.max(0.4, 1.25 * roughnessSteps);
  return chance < 0.6 ? Math.ceil(enough / Math.log(chance)) : undefined;
}
