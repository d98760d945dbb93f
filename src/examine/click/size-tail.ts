// How often sizes of the kind seen nearby come as large as a given one: their own largest, carried on beyond them as a power law.
// Pure counting, no judging.
// Method: B. M. Hill, "A simple general approach to inference about the tail of a distribution", Annals of Statistics 3 (1975).

/** Of the sizes, the largest that give the slope: the tail itself, yet enough of them to have one. Own choice. */
const SHARE = 0.02;
/** Gaussian noise falls faster; heavier tails than a power of ten are taken as they are. Own choice. */
const STEEPEST = 10;

/** The chance of one of at least `size`; sizes below `least` are not told apart. */
export function chanceOfSize(sizes: Float64Array, size: number, least: number): number {
  const sorted = sizes.toSorted();
  const largest = Math.ceil(SHARE * sorted.length);
  const from = Math.max(least, sorted[sorted.length - 1 - largest] ?? 0);
  let sum = 0;
  for (let k = 1; k <= largest; k++) sum += Math.log(Math.max(1, sorted[sorted.length - k] / from));
  const slope = Math.min(STEEPEST, largest / sum);
  return SHARE * Math.max(1, size / from) ** -slope;
}
