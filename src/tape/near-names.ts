// Names that look like a mistyped one, for error messages only.

/** At most `limit` names, nearest first; a name that contains the wanted text counts as near. */
export function nearNames(wanted: string, names: readonly string[], limit = 5): readonly string[] {
  const allowed = Math.max(2, Math.floor(wanted.length / 3));
  return names
    .map((name) => ({
      name,
      distance: name.includes(wanted) ? 0 : distance(wanted, name.slice(0, wanted.length + allowed)),
    }))
    .filter((entry) => entry.distance <= allowed)
    .sort((a, b) => a.distance - b.distance || (a.name < b.name ? -1 : 1))
    .slice(0, limit)
    .map((entry) => entry.name);
}

/** Levenshtein distance: insertions, deletions, replacements. */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, n) => n);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      next.push(Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1)));
    }
    row = next;
  }
  return row[b.length];
}
