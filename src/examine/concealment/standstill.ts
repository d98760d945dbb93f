// How long sound stands still by itself, from its longest even row close by; and how unlikely that makes a row of held samples
// that is many times as long. For whole fields held in soft sound, where neither the single sample nor a break tells. Not for
// short rows (judge-line.ts), nor for pauses: they end where the sound beside them moves.
import type { Row, Stretch } from './judged-stretch.ts';

/** Close by: less than the good field between two lost ones. */
const BESIDE = 256;
/** Even rows that are shorter come by chance in any sound. */
const LEAST_STILL = 2;
/** A row so many times as long as the longest nearby is no chance of the same sound. */
const LEAST_TIMES = 12;
/** Quantising steps by which the sound moves right before the row, and goes on elsewhere after it: what comes to rest by itself, as
 * between the moves of a shorter word that was resampled, does so by single steps. */
const LEAST_JUMP = 3;
const RIGHT_BEFORE = 16;
/** So long before a row that comes to rest by itself there are single steps only. */
const RESTING = 64;

type Marked = Pick<Stretch, 'samples' | 'marks' | 'step'>;

/** Whether length alone may tell the row. `marks`: 1 at every sample that repeats the one before it. */
export function isStandstill({ samples, marks, step }: Marked, row: Row): boolean {
  const length = row.to - row.from;
  // Without sound on both sides the row is not whole.
  if (row.from < BESIDE || row.to + BESIDE > marks.length) return false;
  // Most rows are short: their surroundings are not looked at.
  if (length < LEAST_TIMES * LEAST_STILL || !isCutOff(samples, row, LEAST_JUMP * step)) return false;
  return length >= LEAST_TIMES * longestBeside(marks, row);
}

/** Natural logarithm of the chance: even rows die out with their length, at the slowest as if the longest nearby were their mean;
 * and then the sound goes on where it really was, which the jumps nearby make more or less likely. */
export function standstillChance({ samples, marks }: Marked, row: Row): number {
  return -(row.to - row.from) / longestBeside(marks, row) + Math.log(jumpChance(samples, row));
}

/** Whether the sound came to rest before the row by itself: it moved by no more than one quantising step at a time, as the ringing of a
 * filter does when it dies away. A deck holds what moves. */
export function cameToRest(samples: Int32Array, { from }: Row, step: number): boolean {
  for (let i = Math.max(1, from - RESTING); i < from; i++) {
    if (Math.abs(samples[i] - samples[i - 1]) > step) return false;
  }
  return true;
}

/** From full speed, and back into it. */
function isCutOff(samples: Int32Array, { from, to }: Row, least: number): boolean {
  if (Math.abs(samples[to] - samples[to - 1]) < least) return false;
  for (let i = from - RIGHT_BEFORE; i < from; i++) if (Math.abs(samples[i] - samples[i - 1]) >= least) return true;
  return false;
}

function longestBeside(marks: Uint8Array, { from, to }: Row): number {
  const [begin, end] = [Math.max(0, from - BESIDE), Math.min(marks.length, to + BESIDE)];
  return Math.max(LEAST_STILL, longestIn(marks, begin, from), longestIn(marks, to, end));
}

function longestIn(marks: Uint8Array, from: number, to: number): number {
  let longest = 0;
  for (let i = from, run = 0; i < to; i++) {
    run = marks[i] ? run + 1 : 0;
    longest = Math.max(longest, run);
  }
  return longest;
}

/** Of a step from sample to sample as far as that at the end of the row; counted, never below one in what was looked at. */
function jumpChance(samples: Int32Array, { from, to }: Row): number {
  const jump = Math.abs(samples[to] - samples[to - 1]);
  let [asFar, places] = [0, 0];
  for (let i = 1; i < samples.length; i++) {
    if (i >= from && i <= to) continue;
    places++;
    if (Math.abs(samples[i] - samples[i - 1]) >= jump) asFar++;
  }
  return (asFar + 1) / (places + 1);
}
