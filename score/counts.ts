// Sums over rows, and numbers as text, for the tables of the score.
import type { AlarmRow, BurstRow, FindingRow, PieceRows, SoundRow } from './rows.ts';

export interface PlacedBurst extends BurstRow {
  readonly piece: string;
}

export interface PlacedFinding extends FindingRow {
  readonly piece: string;
}

export function burstsOf(pieces: readonly PieceRows[]): PlacedBurst[] {
  return pieces.flatMap(({ piece, rows }) => rows.flatMap((row) => (row.row === 'burst' ? [{ ...row, piece }] : [])));
}

export function findingsOf(pieces: readonly PieceRows[]): PlacedFinding[] {
  return pieces.flatMap(({ piece, rows }) => rows.flatMap((row) => (row.row === 'finding' ? [{ ...row, piece }] : [])));
}

export function soundsOf(pieces: readonly PieceRows[]): SoundRow[] {
  return pieces.flatMap(({ rows }) => rows.filter((row) => row.row === 'sound'));
}

export function alarmsOf(pieces: readonly PieceRows[]): AlarmRow[] {
  return pieces.flatMap(({ rows }) => rows.filter((row) => row.row === 'alarm'));
}

export function sum<T>(rows: readonly T[], value: (row: T) => number): number {
  return rows.reduce((all, row) => all + value(row), 0);
}

/** In order of first appearance. */
export function groupsOf<T>(rows: readonly T[], key: (row: T) => string): Map<string, T[]> {
  const groups = new Map<string, T[]>();
  for (const row of rows) {
    const own = groups.get(key(row));
    if (own) own.push(row);
    else groups.set(key(row), [row]);
  }
  return groups;
}

export function percent(part: number, whole: number): string {
  return whole === 0 ? 'none' : `${((100 * part) / whole).toFixed(1)} %`;
}

export function table(head: readonly string[], rows: readonly (readonly (string | number)[])[]): string {
  return [head, head.map(() => '---'), ...rows].map((row) => `| ${row.join(' | ')} |`).join('\n');
}

/** Bursts, share visible, recall of the visible. */
export function recallCells(rows: readonly BurstRow[]): (string | number)[] {
  const visible = sum(rows, (row) => row.visible);
  const bursts = sum(rows, (row) => row.bursts);
  return [
    bursts,
    percent(visible, bursts),
    percent(
      sum(rows, (row) => row.found),
      visible,
    ),
  ];
}

export function precisionCell(rows: readonly FindingRow[]): string {
  return percent(
    sum(rows, (row) => row.right),
    sum(rows, (row) => row.findings),
  );
}
