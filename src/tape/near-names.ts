// Names that look like a mistyped one, for error messages only.
import { editDistance } from '../base/index.ts';

/** At most `limit` names, nearest first; a name that contains the wanted text counts as near. */
export function nearNames(wanted: string, names: readonly string[], limit = 5): readonly string[] {
  const allowed = Math.max(2, Math.floor(wanted.length / 3));
  return names
    .map((name) => ({
      name,
      distance: name.includes(wanted) ? 0 : editDistance(wanted, name.slice(0, wanted.length + allowed)),
    }))
    .filter((entry) => entry.distance <= allowed)
    .sort((a, b) => a.distance - b.distance || (a.name < b.name ? -1 : 1))
    .slice(0, limit)
    .map((entry) => entry.name);
}
