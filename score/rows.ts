// The raw rows of the score: one small CSV file per piece of work, so that a long run can be stopped and continued and every
// number in docs/scores.md can be traced. The columns are in score/rows/README.md. Not for judging.
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { DETECTORS } from '../src/examine/index.ts';
import type { Half } from './halves.ts';

/** What was counted of the bursts of one recording, class and level (and spectrum and length where the scenario is fine). */
export interface BurstRow {
  readonly row: 'burst';
  readonly recording: string;
  readonly half: Half;
  readonly kind: string;
  readonly level: string;
  readonly spectrum: string;
  /** 0: all lengths */
  readonly length: number;
  bursts: number;
  visible: number;
  /** of the visible ones */
  found: number;
  invisibleFound: number;
}

/** Findings by stated confidence, and how many were true. */
export interface FindingRow {
  readonly row: 'finding';
  readonly recording: string;
  readonly half: Half;
  readonly kind: string;
  readonly bin: string;
  findings: number;
  right: number;
  /** on a real burst, but of another class */
  otherClass: number;
}

/** Undamaged sound that was examined. */
export interface SoundRow {
  readonly row: 'sound';
  readonly name: string;
  readonly half: Half | 'made';
  readonly kind: string;
  readonly channels: number;
  readonly seconds: number;
  /** 1: the first time that this sound is counted; 0: again, in another word */
  readonly isFirst: number;
}

/** What was found there. */
export interface AlarmRow {
  readonly row: 'alarm';
  readonly name: string;
  readonly half: Half | 'made';
  readonly kind: string;
  readonly channel: number;
  readonly start: number;
  readonly length: number;
  readonly confidence: number;
  /** of a repeat how far before the same samples stand, counted here to be equal from the first to the last; 0 of anything else */
  readonly lag: number;
  /** of a repeat how many of its length chance makes in the whole sound, as a power of ten, by visible.ts; 0 of anything else */
  readonly log10Expected: number;
}

export type Row = BurstRow | FindingRow | SoundRow | AlarmRow;

export interface PieceRows {
  readonly piece: string;
  /** the day it was run */
  readonly date: string;
  readonly rows: readonly Row[];
}

/** The detectors that state losses or clicks; only they are run. */
export const SCORED = DETECTORS.filter((d) =>
  ['interpolated', 'held', 'muted', 'repeated', 'click', 'code-book'].includes(d.meta.id),
);

/** Rows of other versions of the detectors are out of date: a number may have changed. */
export function versionsText(): string {
  return SCORED.map((d) => `${d.meta.id} ${d.meta.version}`).join(', ');
}

/** A folder of rows, all of one seed. */
export class RowStore {
  readonly #folder: URL;
  readonly #stamp: string;

  /** `folder` ends with a slash. */
  constructor(folder: URL, seed: number) {
    this.#folder = folder;
    this.#stamp = `seed ${seed}; ${versionsText()}`;
  }

  /** Whether the piece is on disk, made by these versions of the detectors. */
  isDone(piece: string): boolean {
    const file = this.#fileOf(piece);
    return existsSync(file) && readFileSync(file, 'utf8').split('\n', 1)[0].endsWith(this.#stamp);
  }

  write({ piece, date, rows }: PieceRows): void {
    mkdirSync(this.#folder, { recursive: true });
    const lines = rows.map((row) => `${Object.values(row).map(cell).join(',')}\n`);
    const temporary = new URL(`${this.#fileOf(piece).href}.part`);
    writeFileSync(temporary, `# ${piece}; ${date}; ${this.#stamp}\n${lines.join('')}`);
    renameSync(temporary, this.#fileOf(piece));
  }

  /** Every piece on disk that is up to date, and the names of those that are not. */
  read(): { readonly pieces: PieceRows[]; readonly outdated: string[] } {
    const files = existsSync(this.#folder) ? readdirSync(this.#folder).filter((name) => name.endsWith('.csv')) : [];
    const all = files.sort().map((name) => {
      const [head, ...lines] = readFileSync(new URL(name, this.#folder), 'utf8').trimEnd().split('\n');
      const [piece, date] = head.slice(2).split('; ');
      return { piece, date, isCurrent: head.endsWith(this.#stamp), rows: lines.filter(Boolean).map(rowOf) };
    });
    const outdated = all.filter((one) => !one.isCurrent).map((one) => one.piece);
    return { pieces: all.filter((one) => one.isCurrent), outdated };
  }

  #fileOf(piece: string): URL {
    return new URL(`${piece.replace(/[^\w.-]+/g, '-')}.csv`, this.#folder);
  }
}

/** No text in a row needs quotes: commas in names become spaces. */
function cell(value: string | number): string {
  return typeof value === 'number' ? `${value}` : value.replaceAll(',', '');
}

function rowOf(line: string): Row {
  const cells = line.split(',');
  const n = (index: number) => Number(cells[index]);
  const [row, name] = cells;
  const half = cells[2] as Half;
  if (row === 'burst') {
    const [level, spectrum] = [cells[4], cells[5]];
    const counts = { bursts: n(7), visible: n(8), found: n(9), invisibleFound: n(10) };
    return { row, recording: name, half, kind: cells[3], level, spectrum, length: n(6), ...counts };
  }
  if (row === 'finding') {
    const counts = { findings: n(5), right: n(6), otherClass: n(7) };
    return { row, recording: name, half, kind: cells[3], bin: cells[4], ...counts };
  }
  if (row === 'sound') return { row, name, half, kind: cells[3], channels: n(4), seconds: n(5), isFirst: n(6) };
  if (row === 'alarm') {
    const place = { channel: n(4), start: n(5), length: n(6), confidence: n(7) };
    return { row, name, half, kind: cells[3], ...place, lag: n(8), log10Expected: n(9) };
  }
  throw new Error(`no such row: ${line}`);
}
