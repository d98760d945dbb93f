// How far two words are apart, for error messages that guess what was meant. Not for searching.

/** Insertions, deletions, replacements and swapped neighbours; too long words are near to nothing. */
export function editDistance(a: string, b: string): number {
  if (a.length > 60 || b.length > 60) return Number.POSITIVE_INFINITY;
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next[j] = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
      const isSwap = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      if (isSwap) next[j] = Math.min(next[j], before[j - 2] + 1);
    }
    before = row;
    row = next;
  }
  return row[b.length];
}
