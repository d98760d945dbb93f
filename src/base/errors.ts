// The one error class for bad input, limits and cancellation. Not for findings about a tape: those are data.
// A failed assertion (a bug) is a plain Error and may crash.

/** What the caller can do about it: fix the input, give more room, accept the cancel, or report a fault of the machine. */
export type ErrorKind = 'input' | 'unsupported' | 'limit' | 'cancelled' | 'io';

export interface ErrorPlace {
  readonly path?: string;
  /** byte offset in the file */
  readonly offset?: number;
  /** 1-based line and column in a text file */
  readonly line?: number;
  readonly column?: number;
}

export interface ErrorDetail extends ErrorPlace {
  readonly expected?: string;
  readonly found?: string;
  /** the next step, in the user's words */
  readonly next?: string;
  readonly cause?: unknown;
}

export class TapeproofError extends Error {
  readonly kind: ErrorKind;
  readonly detail: ErrorDetail;

  constructor(kind: ErrorKind, message: string, detail: ErrorDetail = {}) {
    super(message, detail.cause === undefined ? undefined : { cause: detail.cause });
    this.name = 'TapeproofError';
    this.kind = kind;
    this.detail = detail;
  }
}

/** `path:line:column`, `path, byte N` or `path`; empty when the place is unknown. */
export function formatPlace(place: ErrorPlace): string {
  const path = place.path ?? '';
  if (place.line !== undefined) return `${path}:${place.line}${place.column === undefined ? '' : `:${place.column}`}`;
  return place.offset === undefined ? path : `${path}${path ? ', ' : ''}byte ${place.offset}`;
}

/** One message for people: where, what, expected, found, what next. */
export function describeError(error: unknown): string {
  if (!(error instanceof TapeproofError)) return error instanceof Error ? error.message : String(error);
  const { expected, found, next } = error.detail;
  const place = formatPlace(error.detail);
  const lines = [place ? `${place}: ${error.message}` : error.message];
  if (expected !== undefined) lines.push(`  expected: ${expected}`);
  if (found !== undefined) lines.push(`  found:    ${found}`);
  if (next !== undefined) lines.push(`  next:     ${next}`);
  return lines.join('\n');
}

export function isCancelled(error: unknown): boolean {
  return error instanceof TapeproofError && error.kind === 'cancelled';
}
