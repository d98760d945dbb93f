// The known word a mistyped one probably meant, for error messages. Not for searching.
import { editDistance } from '../base/index.ts';

/** "did you mean channels?", or undefined when nothing known is within a third of its letters. */
export function nearWord(word: string, known: readonly string[]): string | undefined {
  const near = known
    .map((name) => ({ name, distance: editDistance(word.toLowerCase(), name.toLowerCase()) }))
    .sort((a, b) => a.distance - b.distance)[0];
  if (!near || near.distance > Math.max(1, Math.floor(near.name.length / 3))) return undefined;
  return `did you mean ${near.name}?`;
}
