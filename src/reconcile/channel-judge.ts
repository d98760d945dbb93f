// One master channel: walks its stretches, copies what is equal, hands differing runs to judge-run.ts, and keeps the book
// of provenance. Works on a window of planes that others fill; decides beyond the asked frame when a run needs it.
import { mergeSpans, type Span, spanEnd } from '../base/index.ts';
import { firstDifference } from './first-difference.ts';
import { type FoundHere, type JudgedRun, judgeRun } from './judge-run.ts';
import { FOLD_VOTES, REACH_FRAMES } from './limits.ts';
import type { LookChance } from './look.ts';
import { coveredByAll } from './loss-spans.ts';
import type { ReadRef } from './provenance.ts';
import * as words from './reasons.ts';
import { type Reason, RunBook } from './run-book.ts';
import { SpanCursor } from './span-cursor.ts';
import { type Stretch, stretchesOf } from './stretches.ts';
import { SHOWN, type Vote } from './vote.ts';

export interface JudgedRead extends words.NamedRead {
  readonly ref: ReadRef;
  readonly isBitEqual: boolean;
  /** master frames it covers */
  readonly cover: readonly Span[];
  /** master frames with a loss finding */
  readonly losses: readonly Span[];
  /** master frames of mutes, holds and repeats, with the guards around them */
  readonly guarded: readonly Span[];
  /** master frames of copies that no other read has, by a deck or an editor: evidence only where reads differ */
  readonly copied: readonly Span[];
  /** in the master's width: the sample by which the carrier says "no valid sample"; undefined where there is none */
  readonly lostValue?: number | undefined;
  readonly plane: Int32Array;
}

interface Current {
  readonly stretch: Stretch;
  readonly reads: readonly JudgedRead[];
  readonly planes: readonly Int32Array[];
  readonly passes: readonly number[];
  readonly preferred: readonly number[];
  readonly lostValues: readonly (number | undefined)[];
  readonly hasLostValue: boolean;
  readonly allLost: SpanCursor;
  /** every read is concealed or guarded */
  readonly allGuarded: SpanCursor;
  /** the same spans, asked at the frames that were voted on */
  readonly lostVotes: SpanCursor;
  readonly equal: number;
  readonly equalConcealed: number;
  readonly equalDoubtful: number;
  readonly equalGuarded: number;
  readonly equalLost: number;
}

export class ChannelJudge {
  readonly book: RunBook;
  readonly stretches: readonly Stretch[];
  readonly out: Int32Array;
  /** [read a * reads + read b], a < b: frames that differ */
  readonly differing: Float64Array;
  readonly #reads: readonly JudgedRead[];
  readonly #found: readonly SpanCursor[];
  readonly #guarded: readonly SpanCursor[];
  readonly #copied: readonly SpanCursor[];
  /** reads by fewest lost frames, then in order */
  readonly #preferred: readonly number[];
  readonly #step: number;
  /** master frames between which some capture has the channel */
  readonly #covered: { readonly first: number; readonly last: number };
  #next = 0;
  #current: Current | null = null;
  #source = -1;
  #lastChance: LookChance | null = null;
  #base = 0;

  constructor(channel: number, reads: readonly JudgedRead[], out: Int32Array, frames: number, step: number) {
    this.#reads = reads;
    this.out = out;
    this.#step = step;
    this.book = new RunBook(
      channel,
      reads.map((r) => r.ref),
    );
    this.stretches = stretchesOf(
      reads.map((r) => r.cover),
      frames,
    );
    this.differing = new Float64Array(reads.length * reads.length);
    this.#found = reads.map((r) => new SpanCursor(r.losses));
    this.#guarded = reads.map((r) => new SpanCursor(r.guarded));
    this.#copied = reads.map((r) => new SpanCursor(r.copied));
    const covers = reads.flatMap((r) => r.cover);
    this.#covered = {
      first: covers.reduce((least, span) => Math.min(least, span.start), Number.POSITIVE_INFINITY),
      last: covers.reduce((most, span) => Math.max(most, spanEnd(span)), Number.NEGATIVE_INFINITY),
    };
    const lost = reads.map((r) => r.losses.reduce((sum, s) => sum + s.length, 0));
    this.#preferred = [...reads.keys()].sort((a, b) => lost[a] - lost[b] || a - b);
  }

  /** Decides at least to master frame `upTo`; index 0 of all planes is master frame `base`. */
  decide(upTo: number, base: number): void {
    this.#base = base;
    while (this.book.end < upTo) {
      const current = (this.#current ??= this.#enter(this.stretches[this.#next++]));
      const end = Math.min(spanEnd(current.stretch), upTo);
      if (current.reads.length === 0) this.#silence(end);
      else if (current.reads.length === 1) this.#equalTo(current, end);
      else this.#compare(current, end);
      if (this.book.end >= spanEnd(current.stretch)) this.#current = null;
    }
  }

  #enter(stretch: Stretch): Current {
    const reads = stretch.reads.map((r) => this.#reads[r]);
    const { equal, concealed } = reasonsFor(reads);
    const lists = reads.map((r) => r.losses);
    const suspected = reads.map((r) => mergeSpans([...r.losses, ...r.guarded]));
    const allLost = reads.length > 0 ? coveredByAll(lists, stretch) : [];
    this.#lastChance = null;
    if (!stretch.reads.includes(this.#source)) {
      this.#source = this.#preferred.find((r) => stretch.reads.includes(r)) ?? -1;
    }
    return {
      stretch,
      reads,
      planes: reads.map((r) => r.plane),
      passes: reads.map((r) => r.pass),
      lostValues: reads.map((r) => r.lostValue),
      hasLostValue: reads.some((r) => r.lostValue !== undefined),
      preferred: this.#preferred.map((r) => stretch.reads.indexOf(r)).filter((r) => r >= 0),
      allLost: new SpanCursor(allLost),
      allGuarded: new SpanCursor(reads.length > 0 ? coveredByAll(suspected, stretch) : []),
      lostVotes: new SpanCursor(allLost),
      equal: this.book.intern(equal),
      equalConcealed: this.book.intern(concealed),
      equalGuarded: this.book.intern(reads.length > 0 ? words.guardedReason(reads) : concealed),
      equalLost: this.book.intern(reads.length > 0 ? words.allLostReason(reads) : concealed),
      equalDoubtful: this.book.intern(reads.length > 1 ? words.equalDoubtfulReason(reads) : concealed),
    };
  }

  #silence(end: number): void {
    this.out.fill(0, this.book.end - this.#base, end - this.#base);
    const { first, last } = this.#covered;
    const reason = end <= first ? words.NOT_YET : this.book.end >= last ? words.NO_MORE : words.NO_READ;
    this.book.add(end - this.book.end, -1, this.book.intern(reason));
  }

  /** All covering reads are equal from here to `end`. */
  #equalTo(current: Current, end: number): void {
    const from = this.book.end - this.#base;
    this.out.set(this.#reads[this.#source].plane.subarray(from, end - this.#base), from);
    while (this.book.end < end) {
      const at = this.book.end;
      const whole = current.hasLostValue ? this.#untilLost(current, at, end) : end;
      if (whole === at) {
        this.book.add(this.#untilKept(current, at, end) - at, this.#source, current.equalLost);
        continue;
      }
      const change = Math.min(current.allLost.changeAfter(at, whole), current.allGuarded.changeAfter(at, whole));
      const equal = current.allGuarded.covers(at) ? current.equalGuarded : current.equal;
      this.book.add(change - at, this.#source, current.allLost.covers(at) ? current.equalConcealed : equal);
    }
  }

  /** The first of the equal frames [at, end) that is an error code. (One in a single read of several is a difference.) */
  #untilLost({ lostValues }: Current, at: number, end: number): number {
    const { plane } = this.#reads[this.#source];
    let to = at;
    while (to < end && !lostValues.includes(plane[to - this.#base])) to++;
    return to;
  }

  #untilKept({ lostValues }: Current, at: number, end: number): number {
    const { plane } = this.#reads[this.#source];
    let to = at;
    while (to < end && lostValues.includes(plane[to - this.#base])) to++;
    return to;
  }

  #hasLost(current: Current, from: number, to: number): boolean {
    const [at, end] = [from + this.#base, to + this.#base];
    return current.hasLostValue && this.#untilLost(current, at, end) < end;
  }

  #compare(current: Current, end: number): void {
    const scanEnd = Math.min(spanEnd(current.stretch), end + REACH_FRAMES);
    const from = this.book.end - this.#base;
    const found = firstDifference(current.planes, from, scanEnd - this.#base) + this.#base;
    const plainEnd = found < scanEnd ? Math.max(this.book.end, found - REACH_FRAMES) : end;
    this.#equalTo(current, Math.min(plainEnd, end));
    if (found < scanEnd && plainEnd < end) this.#judge(current, found);
  }

  #judge(current: Current, found: number): void {
    const { stretch } = current;
    const run = judgeRun({
      planes: current.planes,
      passes: current.passes,
      lostValues: current.lostValues,
      found: stretch.reads.map((r) => (at) => this.#evidence(r, at + this.#base)),
      preferred: current.preferred,
      first: found - this.#base,
      undecidedFrom: this.book.end - this.#base,
      from: stretch.start - this.#base,
      to: spanEnd(stretch) - this.#base,
      step: this.#step,
      lastChance: this.#lastChance,
    });
    this.#lastChance = run.chance;
    this.#record(current, run);
  }

  /** Of a frame in which reads differ. */
  #evidence(read: number, frame: number): FoundHere {
    const isFound = this.#found[read].covers(frame);
    if (this.#guarded[read].covers(frame)) return isFound ? 'whole' : 'guard';
    if (isFound) return 'finding';
    return this.#copied[read].covers(frame) ? 'copy' : 'nothing';
  }

  #record(current: Current, run: JudgedRun): void {
    const isIndependent = new Set(current.passes).size >= 2;
    const folded = this.#foldedReasons(current, run);
    let next = 0;
    for (let i = run.from; i < run.to; ) {
      if (run.at[next] === i) {
        this.#voted(current, run, next++, i, folded);
        i++;
        continue;
      }
      const end = Math.min(run.to, run.at[next] ?? run.to);
      const flag = run.suspect[i - run.from];
      let to = i + 1;
      while (to < end && run.suspect[to - run.from] === flag) to++;
      const inside = isSameChoice(run.votes[next - 1], run.votes[next])
        ? folded.get(run.votes[next].winner)
        : undefined;
      // An error code in every read is no doubt and no choice: it is lost.
      if (this.#hasLost(current, i, to)) this.#equalTo(current, to + this.#base);
      else if (flag !== 0 && isIndependent) this.#suspectTo(current, i, to);
      else if (inside !== undefined) this.#foldTo(i, to, inside);
      else this.#equalTo(current, to + this.#base);
      i = to;
    }
  }

  /** Inside a long lattice equal samples between two choices count with the choices, all by the weakest reason among them: less
   * is claimed than could be, but a head that is away for an hour does not make a run of every sample. */
  #foldedReasons(current: Current, run: JudgedRun): ReadonlyMap<number, number> {
    const weakest = new Map<number, Reason>();
    if (run.at.length < FOLD_VOTES) return new Map();
    for (const [k, { state, winner }] of run.votes.entries()) {
      if (state !== 'chosen') continue;
      const reason = votedReason(current.reads, run, k, false);
      const known = weakest.get(winner);
      if (!known || (reason.strength ?? 0) < (known.strength ?? 0)) weakest.set(winner, reason);
    }
    return new Map([...weakest].map(([winner, reason]) => [winner, this.book.intern(words.foldedReason(reason))]));
  }

  #foldTo(from: number, to: number, reason: number): void {
    this.out.set(this.#reads[this.#source].plane.subarray(from, to), from);
    this.book.add(to - from, this.#source, reason);
  }

  #suspectTo(current: Current, from: number, to: number): void {
    this.out.set(this.#reads[this.#source].plane.subarray(from, to), from);
    this.book.add(to - from, this.#source, current.equalDoubtful);
  }

  #voted(current: Current, run: JudgedRun, k: number, at: number, folded: ReadonlyMap<number, number>): void {
    const ballots = run.ballots[k];
    const { winner } = run.votes[k];
    const value = ballots[winner].value;
    const here = current.stretch.reads.indexOf(this.#source);
    if (here < 0 || ballots[here].value !== value) this.#source = current.stretch.reads[winner];
    this.out[at] = value;
    const isLost = current.lostVotes.covers(at + this.#base);
    const known = run.votes[k].state === 'chosen' ? folded.get(winner) : undefined;
    const reason = known ?? this.book.intern(votedReason(current.reads, run, k, isLost));
    this.book.add(1, this.#source, reason);
    this.#countPairs(current.stretch.reads, current.planes, at);
  }

  #countPairs(reads: readonly number[], planes: readonly Int32Array[], at: number): void {
    for (let a = 0; a < reads.length; a++) {
      for (let b = a + 1; b < reads.length; b++) {
        if (planes[a][at] !== planes[b][at]) this.differing[reads[a] * this.#reads.length + reads[b]]++;
      }
    }
  }
}

function reasonsFor(reads: readonly JudgedRead[]) {
  const [read] = reads;
  if (read === undefined) return { equal: words.NO_READ, concealed: words.NO_READ };
  if (reads.length > 1) return { equal: words.equalReason(reads), concealed: words.equalConcealedReason(reads) };
  return { equal: words.singleReason(read, read.isBitEqual), concealed: words.singleConcealedReason(read) };
}

function isSameChoice(a: Vote | undefined, b: Vote | undefined): boolean {
  return a?.state === 'chosen' && b?.state === 'chosen' && a.winner === b.winner;
}

function votedReason(reads: readonly JudgedRead[], run: JudgedRun, k: number, isLost: boolean): Reason {
  const ballots = run.ballots[k];
  const lost = reads.filter((_, r) => ballots[r].isLost);
  if (lost.length === 0) return reasonAmong(reads, run, k, isLost);
  const { code, winner } = run.votes[k];
  const kept = reads.filter((_, r) => !ballots[r].isLost);
  if (code === 'all-reads-lost') return words.allLostReason(reads);
  if (code === 'other-read-lost') return words.otherLostReason(kept, lost);
  const isOne = ballots.every(({ value, isLost: coded }) => coded || value === ballots[winner].value);
  const reason =
    isOne && code === 'all-reads-concealed'
      ? words.keptConcealedReason(kept, isLost)
      : reasonAmong(reads, run, k, isLost);
  return words.besideLost(reason, lost);
}

/** Of the reads that have a sample. */
function reasonAmong(reads: readonly JudgedRead[], run: JudgedRun, k: number, isLost: boolean): Reason {
  const { winner, code } = run.votes[k];
  const ballots = run.ballots[k];
  const kept = [...reads.keys()].filter((r) => !ballots[r].isLost);
  const isWith = (r: number) => ballots[r].value === ballots[winner].value;
  const named = (which: readonly number[]) => which.map((r) => reads[r]);
  if (code === 'majority')
    return words.majorityReason(named(kept.filter(isWith)), named(kept.filter((r) => !isWith(r))));
  if (code === 'reads-differ') return words.differReason(named(kept));
  if (code === 'all-reads-concealed') return words.differConcealedReason(named(kept), isLost);
  const levels = ballots.map((b, r): number => (isWith(r) || b.isLost ? -1 : b.level));
  const worst = levels.indexOf(Math.max(...levels));
  const odds = run.marks[worst].odds[k];
  const isLocal = ballots[worst].level === SHOWN && odds > 0;
  const evidence = isLocal ? { mechanism: run.marks[worst].mechanism[k], class: words.oddsClass(odds) } : null;
  return ballots[worst].isCopy && !evidence
    ? words.copiedReason(reads[worst])
    : words.concealedReason(reads[worst], evidence);
}
