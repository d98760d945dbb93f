// Means in codes: a deck of a companded format may cover a lost sample with the mean of its neighbours' codes before it expands them.
// Such a sample lies in the book and, where the law is coarse, beside the mean of the samples: only the codes show it. Rows are
// judged as those of concealment/, with the codes for samples. Needs the law; samples outside the book: off-book.ts.
import { type Block, type FrameInfo, type SegmentLaw, type Span, spanEnd } from '../../base/index.ts';
import { codeNumbers } from '../../signal/index.ts';
import { codeMeanRule } from '../concealment/hits.ts';
import { judge } from '../concealment/judge.ts';
import type { Place } from '../concealment/judged-stretch.ts';
import { LATTICE_PERIODS } from '../concealment/lattice-scan.ts';
import { leastLikely } from '../concealment/least-likely.ts';
import { RoughnessTally, visibleRows } from '../concealment/limits.ts';
import { MarkedSound } from '../concealment/marked-sound.ts';
import type { Emit } from '../detector.ts';
import { judgeCodeLattices } from './code-lattice.ts';
import { rowsOfMeans } from './code-lines.ts';
import { type CodeWindow, CodeWindows, MARGIN } from './code-windows.ts';
import { isFlat, isZero, withoutDoubtful } from './flat-lines.ts';
import type { LatticeRow } from './lattice-rows.ts';
import { type BitSet, meanBits } from './mean-bits.ts';
import { logChanceOfLine } from './mean-rates.ts';
import { type JudgedRow, joinedRows, type PlacedRow } from './placed-rows.ts';

export interface CompandedChannel {
  /** 0-based */
  readonly channel: number;
  /** undefined where it is too quiet for any law to show: then samples are codes */
  readonly law: SegmentLaw | undefined;
  /** bits by which the word stands left in the samples */
  readonly shift: number;
  /** what lies outside the book, once all has been seen: rows that touch it were covered after the expansion */
  readonly offBook: readonly Span[];
}

export interface MeansReporter {
  readonly id: string;
  readonly version: number;
  readonly chanceLimit: number;
}

const CELL = 256;

/** State with a life: push the samples of one channel in order, then finish once. */
export class CodeMeans {
  readonly #companded: CompandedChannel;
  readonly #reporter: MeansReporter;
  readonly #table: Int16Array | undefined;
  readonly #windows = new CodeWindows((window) => this.#judge(window));
  readonly #rough = new RoughnessTally();
  readonly #found: PlacedRow[] = [];
  /** places where a row may begin, each on every lattice */
  readonly #places: number;

  constructor({ frames }: FrameInfo, companded: CompandedChannel, reporter: MeansReporter) {
    this.#companded = companded;
    this.#reporter = reporter;
    this.#table = companded.law && tableOf(companded.law);
    this.#places = frames * LATTICE_PERIODS.length;
  }

  push(block: Block): void {
    const { channel, shift } = this.#companded;
    const plane = block.planes[channel];
    this.#windows.push(this.#table ? codesOf(plane, this.#table, shift) : plane.map((x) => x >> shift));
  }

  finish(emit: Emit): void {
    this.#windows.finish();
    const { law } = this.#companded;
    const all = joinedRows(leastLikely(this.#found, ({ logChance }) => logChance));
    // So quiet a sound stands still by itself.
    const rows = withoutDoubtful(all.filter((row) => this.#isInBook(row) && (law || !row.isFlat)));
    for (const row of rows) this.#tell(row, emit);
    if (law) this.#sayLimit(law, rows, emit);
  }

  #judge({ codes, start, own, ownEnd }: CodeWindow): void {
    const enough = this.#enough();
    const means = meanBits(codes);
    const keep = (one: JudgedRow, isFlat: boolean) => {
      const { from, to, ...rest } = one;
      this.#found.push({ ...rest, start: start + from, length: to - from, isFlat });
    };
    for (const line of judgedLines(codes, rowsOfMeans(means, enough, own, ownEnd), enough)) {
      if (isUnlikeSound(codes, means.exact, line, enough)) keep(line, isFlat(codes, line.from, line.to));
    }
    const meant = ({ first, last, period }: LatticeRow) => {
      if (first >= own) return first < ownEnd ? first : undefined;
      // In sound below all laws, a row longer than a window is as well a tone: nobody can tell.
      if (!this.#companded.law) return undefined;
      // What the window before saw of it.
      const seen = own + MARGIN;
      return last < seen ? undefined : seen + ((((first - seen) % period) + period) % period);
    };
    for (const one of judgeCodeLattices(means, enough, meant)) keep(one, false);
    for (let at = Math.max(1, own); at + CELL < Math.min(ownEnd + 1, codes.length); at += CELL) {
      const roughness = codeMeanRule.roughness(codes.subarray(at - 1, at + CELL + 1), CELL);
      if (roughness > 0) this.#rough.add(roughness / CELL);
    }
  }

  #enough(): number {
    return Math.log(this.#reporter.chanceLimit / this.#places);
  }

  /** What touches samples outside the book was covered after the expansion. */
  #isInBook(row: PlacedRow): boolean {
    return !this.#companded.offBook.some((span) => span.start < spanEnd(row) && row.start < spanEnd(span));
  }

  #expected(row: PlacedRow): number {
    return Math.exp(row.logChance) * this.#places;
  }

  #tell(row: PlacedRow, emit: Emit): void {
    const { channel, law } = this.#companded;
    const { id, version } = this.#reporter;
    const { start, length, period, pattern, replaced, misses, rounding, logChance, isFlat } = row;
    const expectedByChance = this.#expected(row);
    const log10Chance = Math.round((logChance / Math.LN10) * 10) / 10;
    emit.finding({
      detector: id,
      version,
      kind: 'interpolated',
      channels: [channel + 1],
      start,
      length,
      confidence: 1 / (1 + expectedByChance),
      expectedByChance,
      measured: replaced,
      expected: null,
      unit: law ? 'samples, means in codes' : 'samples',
      detail: {
        ...{ period, pattern, replaced, misses, rounding, log10Chance, isFlat },
        ...(law ? { law: law.id, domain: 'codes' } : { domain: 'samples' }),
      },
    });
  }

  #sayLimit(law: SegmentLaw, rows: readonly PlacedRow[], emit: Emit): void {
    const { chanceLimit } = this.#reporter;
    const seen = visibleRows(this.#rough, codeMeanRule.width, { chanceLimit, enough: this.#enough() });
    emit.verdict({
      channel: this.#companded.channel + 1,
      question: 'interpolated-in-codes-seen',
      answer: rows.reduce((sum, { replaced }) => sum + replaced, 0),
      confidence: rows.reduce((product, row) => product / (1 + this.#expected(row)), 1),
      detectionLimit: `in the codes of ${law.id}: ${seen.text}`,
      evidence: { unit: 'samples replaced', findings: rows.length, ...seen.evidence, chanceLimit },
    });
  }
}

/** A deck rounds one way: a row that keeps none is the sound's own, which coarse codes draw nearly straight now and then. */
function judgedLines(codes: Int32Array, rows: readonly Place[], enough: number): JudgedRow[] {
  return clustersOf(rows.filter(({ from, to }) => !isZero(codes, from, to))).flatMap((cluster) => {
    const [begin, end] = [cluster[0].begin, cluster[cluster.length - 1].end];
    const sound = new MarkedSound(codes.subarray(begin, end), codeMeanRule, 1);
    const lines = cluster.flatMap((row) => judge(sound, moved(row, -begin), 1, enough));
    return lines.map((line) => ({ ...line, from: line.from + begin, to: line.to + begin }));
  });
}

/** Samples at an end of a line that lie on it by chance as a matter of course. */
const USUALLY_SOUND = 2;

/** A line that goes over into the sound at both ends must also be rarer than those that slow sound draws itself. */
function isUnlikeSound(codes: Int32Array, exact: BitSet, { from, to }: JudgedRow, enough: number): boolean {
  const bendsAt = (i: number) => Math.abs(codeMeanRule.deviation(codes, i)) >= codeMeanRule.leastBreak;
  for (let i = 0; i <= USUALLY_SOUND; i++) if (bendsAt(from - 1 - i) || bendsAt(to + i)) return true;
  return logChanceOfLine(exact, from, to - 1) <= enough;
}

/** Of rows in order: those whose surroundings touch are marked together. */
function clustersOf(rows: readonly Place[]): Place[][] {
  const clusters: Place[][] = [];
  for (const row of rows) {
    const last = clusters.at(-1);
    if (last && row.begin < last[last.length - 1].end) last.push(row);
    else clusters.push([row]);
  }
  return clusters;
}

function moved({ from, to, begin, end }: Place, by: number): Place {
  return { from: from + by, to: to + by, begin: begin + by, end: end + by };
}

/** By the low bits of the level; what lies outside the book has the code that it would be given. */
function tableOf(law: SegmentLaw): Int16Array {
  const { of } = codeNumbers(law);
  const size = 2 ** law.linearBits;
  return Int16Array.from({ length: size }, (_, bits) => of(bits < size / 2 ? bits : bits - size));
}

function codesOf(plane: Int32Array, table: Int16Array, shift: number): Int32Array {
  const codes = new Int32Array(plane.length);
  const low = table.length - 1;
  for (let i = 0; i < plane.length; i++) codes[i] = table[(plane[i] >> shift) & low];
  return codes;
}
