// A value with where it comes from and how sure it is, so that no number of a tape format travels without its mark.
// Source keys (R1 .. R47) and the marks are explained in docs/sources.md.

/** S standard or faithful quotation, T trade literature or a library that implements the standard, M from memory, D arithmetic. */
export type Certainty = 'S' | 'T' | 'M' | 'D';

export interface Fact<T> {
  readonly value: T;
  readonly unit?: string;
  /** one or more keys of docs/sources.md, or `D` (arithmetic only) or `memory` */
  readonly source: string;
  readonly certainty: Certainty;
  /** for D: the mark of the weakest number that went in */
  readonly weakest?: 'S' | 'T' | 'M';
  readonly note?: string;
}

/** Nobody has found this out; the hypotheses are what a measurement should try. */
export interface UnknownFact {
  readonly unknown: true;
  readonly hypotheses: readonly string[];
  readonly note?: string;
}

export type MaybeFact<T> = Fact<T> | UnknownFact;

type Extra = Pick<Fact<unknown>, 'unit' | 'note'>;

export function standard<T>(value: T, source: string, extra: Extra = {}): Fact<T> {
  return { value, source, certainty: 'S', ...extra };
}

export function trade<T>(value: T, source: string, extra: Extra = {}): Fact<T> {
  return { value, source, certainty: 'T', ...extra };
}

export function memory<T>(value: T, extra: Extra = {}): Fact<T> {
  return { value, source: 'memory', certainty: 'M', ...extra };
}

/** `weakest` is the mark of the weakest input of the arithmetic. */
export function derived<T>(value: T, weakest: 'S' | 'T' | 'M', source = 'D', extra: Extra = {}): Fact<T> {
  return { value, source, certainty: 'D', weakest, ...extra };
}

export function unknown(hypotheses: readonly string[], note?: string): UnknownFact {
  return note === undefined ? { unknown: true, hypotheses } : { unknown: true, hypotheses, note };
}

export function isKnown<T>(fact: MaybeFact<T>): fact is Fact<T> {
  return !('unknown' in fact);
}

/** `T`, `D(M)`, or `unknown`. */
export function certaintyMark(fact: MaybeFact<unknown>): string {
  if (!isKnown(fact)) return 'unknown';
  return fact.weakest === undefined ? fact.certainty : `${fact.certainty}(${fact.weakest})`;
}

/** Freezes plain data all the way down and returns it. */
export function frozen<T>(data: T): T {
  if (typeof data !== 'object' || data === null || Object.isFrozen(data)) return data;
  Object.freeze(data);
  for (const value of Object.values(data)) frozen(value);
  return data;
}
