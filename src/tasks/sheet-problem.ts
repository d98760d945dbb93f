// Errors of a transfer sheet as data, and the one error that carries them all to the user.
import { TapeproofError } from '../base/index.ts';

export interface SheetProblem {
  readonly message: string;
  /** offset in the text */
  readonly at: number;
  readonly expected?: string | undefined;
  readonly found?: string | undefined;
  readonly next?: string | undefined;
}

/** 1-based place of an offset in the text. */
export type PlaceOf = (at: number) => { readonly line: number; readonly column: number };

const MOST_PROBLEMS = 20;

/** One error for all: alone it keeps its parts, in company each stands on its own line with its place. */
export function sheetError(
  path: string,
  placeOf: PlaceOf,
  problems: readonly SheetProblem[],
  heading?: string,
): TapeproofError {
  const [first, ...others] = problems;
  const { line, column } = placeOf(first.at);
  const { expected, found, next } = first;
  const parts = { ...(expected ? { expected } : {}), ...(found ? { found } : {}), ...(next ? { next } : {}) };
  if (others.length === 0) {
    const message = heading === undefined ? first.message : `${heading}: ${first.message}`;
    return new TapeproofError('input', message, { path, line, column, ...parts });
  }
  const listed = problems.slice(0, MOST_PROBLEMS).map((problem) => {
    const place = placeOf(problem.at);
    const why = [
      problem.expected && `expected ${problem.expected}`,
      problem.found && `found ${problem.found}`,
      problem.next,
    ].filter(Boolean);
    return `  ${place.line}:${place.column} ${problem.message}${why.length ? ` (${why.join('; ')})` : ''}`;
  });
  const rest = problems.length - listed.length;
  if (rest > 0) listed.push(`  and ${rest} more`);
  const message = `${heading ?? `${problems.length} errors in the transfer sheet`}\n${listed.join('\n')}`;
  return new TapeproofError('input', message, { path, line, column, next: 'correct the sheet and run again' });
}

/** The complaint of `check` as a problem without a place; undefined when it has none. */
export function complaint(check: () => void): Omit<SheetProblem, 'at'> | undefined {
  try {
    check();
    return undefined;
  } catch (error) {
    if (!(error instanceof TapeproofError)) throw error;
    const { expected, found, next } = error.detail;
    return { message: error.message, expected, found, next };
  }
}
