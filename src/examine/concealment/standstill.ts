// How long sound stands still by itself, from the even rows close by; and how unlikely that makes a row of held samples that is many
// times as long. For whole fields held in soft sound or in the wide steps of a law, where neither the single sample nor a break tells.
// Not for short rows (judge-line.ts), nor for pauses: they end where the sound beside them moves.
import type { Row, Stretch } from './judged-stretch.ts';

/** Close by: less than the good field between two lost ones. */
const BESIDE = 256;
/** Even rows that are shorter come by chance in any sound. */
const LEAST_STILL = 2;
/** A row so many times as long as those nearby usually are is no chance of the same sound, */
const LEAST_TIMES = 12;
/** nor one so many times as long as the longest of them: of a hundred rows that die out evenly the longest has five times their mean. */
const LEAST_BEYOND = 4;
/** Quantising steps that the sound is away from the row's level right before it, and again right after it: what comes to rest by itself,
 * as between the moves of a shorter word that was resampled, swings about its level by a step or two before. */
const LEAST_AWAY = 3;
const RIGHT_BESIDE = 32;
/** So long before a row that comes to rest by itself there are single steps only. */
const RESTING = 64;

/** Quantising steps by which sound glides: what dies away or begins by itself, right beside the rest. */
const MOST_GLIDE = 2;

type Marked = Pick<Stretch, 'samples' | 'marks' | 'step'>;

/** Whether length alone may tell the row. `marks`: 1 at every sample that repeats the one before it. */
export function isStandstill({ samples, marks, step }: Marked, row: Row): boolean {
  const length = row.to - row.from;
  // Without sound on both sides the row is not whole.
  if (row.from < BESIDE || row.to + BESIDE > marks.length) return false;
  // Most rows are short: their surroundings are not looked at.
  if (length < LEAST_TIMES * LEAST_STILL || !isCutOff(samples, row, LEAST_AWAY * step)) return false;
  return length >= LEAST_TIMES * usualBeside(marks, row) && length >= LEAST_BEYOND * longestBeside(marks, row);
}

/** Natural logarithm of the chance: even rows die out with their length, at the slowest as if what is usual nearby were their mean;
 * and then the sound goes on where it really was, which the jumps nearby make more or less likely. */
export function standstillChance({ samples, marks }: Marked, row: Row): number {
  return -(row.to - row.from) / usualBeside(marks, row) + Math.log(jumpChance(samples, row));
}

/** Whether the sound came to rest before the row by itself: it moved by no more than one quantising step at a time, as the ringing of a
 * filter does when it dies away. A deck holds what moves. */
export function cameToRest(samples: Int32Array, { from }: Row, step: number): boolean {
  for (let i = Math.max(1, from - RESTING); i < from; i++) {
    if (Math.abs(samples[i] - samples[i - 1]) > step) return false;
  }
  return true;
}

/** Whether the sound glides into the row and out of it, as what rings and rests by itself does: it moves by hardly more than a quantising step right
 * before and right after. */
export function glides(samples: Int32Array, { from, to }: Row, step: number): boolean {
  const into = Math.abs(samples[from - 1] - samples[from - 2]);
  const outOf = Math.abs(samples[to] - samples[to - 1]);
  return Math.max(into, outOf) <= MOST_GLIDE * step;
}

/** Where it is wider than the recording's step, the sound there keeps no finer one. */
export function leastMoveBeside(samples: Int32Array, { from, to }: Row): number {
  let least = Number.POSITIVE_INFINITY;
  for (let i = Math.max(1, from - BESIDE); i < Math.min(samples.length, to + BESIDE); i++) {
    const move = Math.abs(samples[i] - samples[i - 1]);
    if (move > 0 && move < least) least = move;
  }
  return least;
}

/** From elsewhere, and to elsewhere. */
function isCutOff(samples: Int32Array, { from, to }: Row, least: number): boolean {
  const isAway = (x: number) => Math.abs(x - samples[from]) >= least;
  return (
    samples.subarray(from - RIGHT_BESIDE, from).some(isAway) && samples.subarray(to, to + RIGHT_BESIDE).some(isAway)
  );
}

function usualBeside(marks: Uint8Array, { from, to }: Row): number {
  const [begin, end] = [Math.max(0, from - BESIDE), Math.min(marks.length, to + BESIDE)];
  return Math.max(LEAST_STILL, usualIn(marks, begin, from), usualIn(marks, to, end));
}

/** Mean length of the rows, as a sample of them meets it: of rows that die out evenly twice their mean. */
function usualIn(marks: Uint8Array, from: number, to: number): number {
  let [sum, squares] = [0, 0];
  for (let i = from, run = 0; i <= to; i++) {
    if (i < to && marks[i]) {
      run++;
      continue;
    }
    sum += run;
    squares += run * run;
    run = 0;
  }
  return sum === 0 ? 0 : squares / sum;
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
