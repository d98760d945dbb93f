// How hits follow each other in the sound around a row: sound that is straight or still in places makes rows by itself, and sound that
// swings in step with a lattice makes hits on it by itself. One hit there is followed by the next far more often than hits are. Not for
// judging the row (judge-line.ts, judge-lattice.ts).

/** Lengths up to which rows are told apart: a few longer ones may be losses of their own. */
const LONGEST = 6;
/** Fewer rows of two tell nothing. */
const FEWEST = 8;

/** Chance, 0..1, that a hit is followed by another one `period` samples later, outside from - period..to + period - 1: the lower of that of
 * a first hit and that of further ones. `marks`: 1 at hits. 0 where they hardly ever do. */
export function chanceToGoOn(
  marks: Uint8Array,
  { from, to }: { readonly from: number; readonly to: number },
  period = 1,
): number {
  const atLeast = new Int32Array(LONGEST + 1);
  countRows(marks.subarray(0, Math.max(0, from - period)), period, atLeast);
  countRows(marks.subarray(to + period), period, atLeast);
  if (atLeast[2] < FEWEST) return 0;
  let [goOn, all] = [0, 0];
  for (let length = 2; length < LONGEST; length++) {
    all += atLeast[length];
    goOn += atLeast[length + 1];
  }
  return Math.min(atLeast[2] / atLeast[1], goOn / all);
}

/** Adds to `atLeast[n]` how many unbroken rows of at least n hits there are. */
function countRows(marks: Uint8Array, period: number, atLeast: Int32Array): void {
  for (let phase = 0; phase < period; phase++) {
    for (let i = phase, row = 0; i < marks.length; i += period) {
      row = marks[i] ? row + 1 : 0;
      if (row > 0 && row <= LONGEST) atLeast[row]++;
    }
  }
}
