// Timecode words in a stream of edges: the twelve ones of the sync word are found first, which gives the clock; from there the bits
// are read outward in both directions of time by a loop that follows the clock. Not for the edges, nor for what words follow each other.
import { hasPossibleDigits } from './code-word.ts';

export interface FoundWord {
  /** times of the outer edges, in the unit of the edges; `start` is the earlier */
  readonly start: number;
  readonly end: number;
  /** played backwards: bit 79 comes first */
  readonly isReverse: boolean;
  readonly low: number;
  readonly high: number;
  /** root mean square of the edges about an even clock, as a share of half a bit */
  readonly jitter: number;
}

/** Edges kept: a word has 80 to 160, wanted on both sides of the sync word. */
const KEPT = 512;
/** Edges that must have come after a sync word before it is looked at: 2 bits and 64 bits of ones, and a few. */
const WAIT = 136;
const SYNC_HALVES = 24;
/** An edge of the sync word may lie off its place by so much of half a bit; half would be anybody's. */
const MOST_OFF = 0.45;
/** How the clock follows the edges: of the error of each, so much is taken as place and so much as length. A choice: wow of 10 % at
 * 4 Hz moves the length by less than 0.1 % from one half bit to the next. */
const PLACE_GAIN = 0.25;
const LENGTH_GAIN = 0.04;

interface Clock {
  readonly place: number;
  readonly half: number;
}

/** Sums for a straight line through edge times y over half-bit counts x. */
interface Line {
  /** time of the first point, from which y counts, so that squares stay exact in long recordings */
  origin: number;
  n: number;
  x: number;
  xx: number;
  y: number;
  xy: number;
  yy: number;
}

interface Walk {
  readonly bits: readonly number[];
  /** half bits from the anchor to the last edge read, counted outward */
  readonly halves: number;
}

/** State with a life: push all edges in order, finish once. */
export class WordFinder {
  readonly #shortest: number;
  readonly #longest: number;
  readonly #found: (word: FoundWord) => void;
  readonly #edges = new Float64Array(KEPT);
  /** indices of the last edge of each sync word not looked at yet */
  readonly #pending: number[] = [];
  #count = 0;

  /** Half a bit lasts from `shortest` to `longest`, in the unit of the edges. */
  constructor(shortest: number, longest: number, found: (word: FoundWord) => void) {
    this.#shortest = shortest;
    this.#longest = longest;
    this.#found = found;
  }

  push(edge: number): void {
    this.#edges[this.#count & (KEPT - 1)] = edge;
    const last = this.#count++;
    if (this.#pending.length > 0 && this.#pending[0] + WAIT <= last) this.#look(this.#pending.shift() as number);
    if (last > SYNC_HALVES + 1 && this.#endsSync(last)) this.#pending.push(last - 1);
  }

  finish(): void {
    for (const end of this.#pending.splice(0)) this.#look(end);
  }

  #edge(index: number): number {
    return this.#edges[index & (KEPT - 1)];
  }

  /** A long interval, 24 short ones, a long one. Cheap, for every edge. */
  #endsSync(last: number): boolean {
    const end = this.#edge(last - 1);
    const start = this.#edge(last - 1 - SYNC_HALVES);
    const half = (end - start) / SYNC_HALVES;
    if (half < this.#shortest || half >= this.#longest) return false;
    const isLong = (length: number) => length > 1.5 * half && length < 2.6 * half;
    return isLong(this.#edge(last) - end) && isLong(start - this.#edge(last - 2 - SYNC_HALVES));
  }

  #look(end: number): void {
    const run = newLine();
    for (let k = 0; k <= SYNC_HALVES; k++) addPoint(run, k, this.#edge(end - SYNC_HALVES + k));
    const { place, half } = clockOf(run);
    for (let k = 0; k <= SYNC_HALVES; k++) {
      if (Math.abs(this.#edge(end - SYNC_HALVES + k) - place - k * half) > MOST_OFF * half) return;
    }
    this.#read(end, { place, half });
  }

  /** `clock.place` is the first edge of the twelve ones. */
  #read(end: number, clock: Clock): void {
    const first = end - SYNC_HALVES;
    const last = { place: clock.place + SYNC_HALVES * clock.half, half: clock.half };
    const before = this.#walk(first, -1, clock, 2, newLine())?.bits.join('');
    const after = this.#walk(end, 1, last, 2, newLine())?.bits.join('');
    // Outward from the twelve ones the nearest bit comes first: 00 and 01 as sent, 01 and 00 played backwards.
    const isForward = before === '00' && after === '01';
    if (!isForward && !(before === '01' && after === '00')) return;
    const line = newLine();
    const data = isForward ? this.#walk(first, -1, clock, 66, line) : this.#walk(end, 1, last, 66, line);
    if (data) this.#tell(data, isForward, line);
  }

  /** Reads so many bits outward; undefined where the edges stop being biphase. */
  #walk(from: number, step: 1 | -1, { place, half }: Clock, wanted: number, line: Line): Walk | undefined {
    const bits: number[] = [];
    let index = from;
    let at = place;
    let halves = 0;
    let isHalfWay = false;
    while (bits.length < wanted) {
      index += step;
      if (index < 0 || index >= this.#count || index <= this.#count - KEPT) return undefined;
      const edge = this.#edge(index);
      const distance = (edge - at) * step;
      const steps = Math.round(distance / half);
      if (steps < 1 || steps > 2 || (steps === 2 && isHalfWay)) return undefined;
      const error = distance - steps * half;
      at += step * (steps * half + PLACE_GAIN * error);
      half += (LENGTH_GAIN * error) / steps;
      halves += steps;
      addPoint(line, step * halves, edge);
      if (steps === 2) bits.push(0);
      else if (isHalfWay) bits.push(1);
      isHalfWay = steps === 1 && !isHalfWay;
    }
    return { bits, halves };
  }

  /** `line` counts half bits outward from the near end of the twelve ones, and holds the data bits. */
  #tell({ bits, halves }: Walk, isForward: boolean, line: Line): void {
    let low = 0;
    let high = 0;
    // Outward from the sync word bit 63 comes first, whichever way the tape ran.
    for (let bit = 0; bit < 32; bit++) {
      low |= bits[65 - bit] << bit;
      high |= bits[33 - bit] << bit;
    }
    low >>>= 0;
    high >>>= 0;
    if (!hasPossibleDigits({ low, high })) return;
    const { place, half } = clockOf(line);
    const behind = SYNC_HALVES + 4;
    const [from, to] = isForward ? [-halves, behind] : [-behind, halves];
    const [start, end] = [place + from * half, place + to * half];
    this.#found({ start, end, isReverse: !isForward, low, high, jitter: jitterOf(line) / half });
  }
}

function newLine(): Line {
  return { origin: Number.NaN, n: 0, x: 0, xx: 0, y: 0, xy: 0, yy: 0 };
}

function addPoint(line: Line, x: number, time: number): void {
  if (line.n === 0) line.origin = time;
  const y = time - line.origin;
  line.n++;
  line.x += x;
  line.xx += x * x;
  line.y += y;
  line.xy += x * y;
  line.yy += y * y;
}

function clockOf({ origin, n, x, xx, y, xy }: Line): Clock {
  const half = (n * xy - x * y) / (n * xx - x * x);
  return { half, place: origin + (y - half * x) / n };
}

function jitterOf({ n, x, xx, y, xy, yy }: Line): number {
  const slope = (n * xy - x * y) / (n * xx - x * x);
  const square = yy - (y * y) / n - slope * (xy - (x * y) / n);
  return Math.sqrt(Math.max(0, square) / Math.max(1, n - 2));
}
