// Whether sound comes to rest at a value again and again: the flat tops of clipped sound, also after a change of gain, or the level
// at which a gate leaves a channel that has DC. A deck holds what it had last, hardly ever the same value twice. Not for zeros (muted.ts).

/** Equal samples that are a row. */
const SHORTEST_ROW = 3;
/** Of so many rows at one value by chance. */
const CHANCE = 0.02;

/** `samples`: what surrounds a row of the value, and the row. `shortest`: shorter rows are none. */
export function isRestLevel(samples: Int32Array, value: number, shortest = SHORTEST_ROW): boolean {
  const least = Math.max(SHORTEST_ROW, shortest);
  let [rows, rowsAtValue, places, placesAtValue] = [0, 0, 0, 0];
  for (let i = 0; i < samples.length; ) {
    let end = i + 1;
    while (end < samples.length && samples[end] === samples[i]) end++;
    const isRow = end - i >= least && samples[i] !== 0;
    const visits = isRow ? 1 : end - i;
    places += visits;
    if (isRow) rows++;
    if (samples[i] === value) {
      placesAtValue += visits;
      if (isRow) rowsAtValue++;
    }
    i = end;
  }
  return chanceOf(rowsAtValue - 1, (rows - 1) * (placesAtValue / places)) < CHANCE;
}

/** Upper bound of the chance that at least `count` of many rare things happen of which `mean` are expected: mean^count / count!. */
function chanceOf(count: number, mean: number): number {
  if (count <= 0) return 1;
  let chance = 1;
  for (let k = 1; k <= count; k++) chance *= mean / k;
  return chance;
}
