// What every table of the report is made of, and how long lists are cut to the most important rows.
import { countOf } from './plain-words.ts';
import type { TextColumn } from './text-table.ts';

/** Rows at most in a list of spans, places or provenance runs. */
export const MOST_ROWS = 200;

export interface ReportTable {
  readonly title: string;
  readonly columns: readonly TextColumn[];
  readonly rows: readonly (readonly string[])[];
  /** said below the table: what the columns mean, or how many rows were left out */
  readonly note?: string;
}

export const right = (header: string): TextColumn => ({ header, align: 'right' });
export const left = (header: string): TextColumn => ({ header });
export const wide = (header: string): TextColumn => ({ header, flexible: true });

/** The weightiest MOST_ROWS, in their old order. */
export function mostImportant<T>(list: readonly T[], weight: (item: T) => number): readonly T[] {
  if (list.length <= MOST_ROWS) return list;
  const kept = new Set([...list].sort((a, b) => weight(b) - weight(a)).slice(0, MOST_ROWS));
  return list.filter((item) => kept.has(item));
}

/** " 12 more runs in report.json; the longest are shown.", or nothing. */
export function leftOut(rest: number, one: string): string {
  return rest > 0 ? ` ${countOf(rest, `more ${one}`)} in report.json; the longest are shown.` : '';
}
