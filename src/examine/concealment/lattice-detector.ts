// Makes a detector out of a hit rule: streaming first look in cells of fixed frames (so block size cannot matter), then
// the second look that re-reads the candidates with their surroundings and lets judge.ts decide.
import { type Block, type FrameInfo, type JsonObject, type Span, spanEnd } from '../../base/index.ts';
import { type LowestBits, MOST_KERNEL_BITS, StepCounter } from '../../signal/index.ts';
import { lowestBitsOf } from '../block-statistics.ts';
import type { Detector, DetectorSession, Emit } from '../detector.ts';
import type { Finding, Verdict } from '../finding.ts';
import type { HitRule } from './hits.ts';
import { joinParts, type Placed } from './join-parts.ts';
import { judge } from './judge.ts';
import { type Candidate, LATTICE_PERIODS, LatticeScan } from './lattice-scan.ts';
import { leastLikely } from './least-likely.ts';
import { RoughnessTally, visibleRows } from './limits.ts';
import { MarkedSound } from './marked-sound.ts';
import { stepOfOlderWord } from './older-word.ts';
import { SecondLook } from './second-look.ts';

const CELL = 256;
/** Cells that go through the kernels together: a block of the usual length. */
const CELLS_AT_ONCE = 256;
/** Where a hit is as likely as this by chance, hits say nothing. */
const MOST_CHANCE = 0.75;
/** Chance of a hit where not even one step is made, in sound that moved shortly before: at most this, as a hold stands still in the
 * softest sound too, and judge.ts knows better how long that sound stands still by itself. */
const MOST_CHANCE_EVEN = 0.5;
const CONTEXT = 1024;
const LONGEST = 16_384;
/** The first look keeps rows that fall short of the needed odds by no more than this (natural logarithm): the second look knows
 * more for and against them, at most the jump at the end for (ln 2048). */
const FIRST_LOOK_SLACK = 9;
const FIRST_LOOK_LEAST = 8;
/** Share of samples that must lie on the step: deck arithmetic may leave finer values in concealed samples. */
const ON_STEP = 0.98;

export interface LatticeSettings extends JsonObject {
  /** most findings by chance over the whole channel that one finding may stand for */
  readonly chanceLimit: number;
}

export function latticeDetector(id: string, version: number, label: string, rule: HitRule): Detector<LatticeSettings> {
  return {
    meta: { id, version, label, needs: 'at least 64 frames', settings: { chanceLimit: 0.01 } },
    begin(info, settings, emit) {
      if (info.frames < 64) return { notApplicable: `only ${info.frames} frames` };
      return new LatticeSession(info, rule, { id, version, chanceLimit: settings.chanceLimit }, emit);
    },
  };
}

interface Reporter {
  readonly id: string;
  readonly version: number;
  readonly chanceLimit: number;
}

interface Channel {
  readonly cell: Int32Array;
  /** samples in `cell`; cell[0] is the sample before the cell's first frame */
  filled: number;
  start: number;
  /** of the last cell that sounds, and the chance of a hit there */
  previousRoughness: number;
  previousChance: number;
  /** since then */
  evenFrames: number;
  readonly step: StepCounter;
  readonly scan: LatticeScan;
  /** of cells that sound; in steps as known at that moment */
  readonly rough: RoughnessTally;
  readonly judged: Placed[];
}

class LatticeSession implements DetectorSession {
  readonly #rule: HitRule;
  readonly #info: FrameInfo;
  readonly #reporter: Reporter;
  readonly #emit: Emit;
  readonly #channels: Channel[];
  readonly #hits = new Int32Array(CELL * CELLS_AT_ONCE);
  readonly #gains = new Float64Array(CELL * CELLS_AT_ONCE);
  readonly #roughnesses = new Float64Array(CELLS_AT_ONCE);
  readonly #second: SecondLook<Candidate>;
  #steps: number[] = [];

  constructor(info: FrameInfo, rule: HitRule, reporter: Reporter, emit: Emit) {
    this.#rule = rule;
    this.#info = info;
    this.#reporter = reporter;
    this.#emit = emit;
    const firstLook = Math.max(FIRST_LOOK_LEAST, -this.#enough() - FIRST_LOOK_SLACK);
    this.#channels = Array.from({ length: info.channels }, () => ({
      cell: new Int32Array(CELL + 2),
      filled: 1,
      start: 0,
      previousRoughness: 0,
      previousChance: 1,
      evenFrames: LONGEST,
      step: new StepCounter(),
      scan: new LatticeScan(firstLook, LONGEST),
      rough: new RoughnessTally(),
      judged: [],
    }));
    const allDue = this.#judgeDue.bind(this);
    this.#second = new SecondLook(info.channels, CONTEXT, { allDue });
  }

  push(block: Block): void {
    for (let c = 0; c < this.#channels.length; c++) {
      this.#pushPlane(this.#channels[c], block.planes[c], lowestBitsOf(block)[c]);
    }
  }

  /** Where the step is the same all through the plane, most cells go together through the kernels: same result, less time. */
  #pushPlane(channel: Channel, plane: Int32Array, bits: LowestBits): void {
    const steady = this.#info.bits <= MOST_KERNEL_BITS ? channel.step.steadyExponent(bits, ON_STEP) : undefined;
    if (steady !== undefined) channel.step.addLowest(bits);
    for (let at = 0; at < plane.length; ) {
      if (steady !== undefined && channel.filled === 2 && at >= 2 && plane.length - at >= CELL) {
        at += this.#scanCells(channel, plane.subarray(at - 2), 2 ** steady);
        continue;
      }
      const take = Math.min(plane.length - at, channel.cell.length - channel.filled);
      channel.cell.set(plane.subarray(at, at + take), channel.filled);
      if (steady === undefined) channel.step.push(plane, at, at + take);
      channel.filled += take;
      at += take;
      if (channel.filled === channel.cell.length) this.#scanCell(channel, CELL, 2 ** (steady ?? stepOf(channel)));
    }
  }

  finish(): readonly Span[] {
    const spans: Span[] = [];
    for (const [c, channel] of this.#channels.entries()) {
      // The last frame has no next sample: it cannot be judged.
      if (channel.filled > 2) this.#scanCell(channel, channel.filled - 2, 2 ** stepOf(channel));
      channel.scan.finish();
      this.#steps[c] = 2 ** channel.step.stepExponent(ON_STEP);
      for (const span of this.#second.plan(c, channel.scan.candidates)) spans.push(span);
    }
    return spans;
  }

  look(block: Block): void {
    this.#second.look(block);
  }

  finishLook(): void {
    this.#second.finish();
    for (const [c, channel] of this.#channels.entries()) {
      const placed = joinParts(
        leastLikely(channel.judged, ({ judgement }) => judgement.logChance),
        LONGEST,
      );
      for (const one of placed) this.#emit.finding(this.#findingOf(c, one));
      this.#emit.verdict(this.#verdictOf(c, channel, placed));
    }
  }

  #scanCell(channel: Channel, frames: number, step: number): void {
    const { cell, scan } = channel;
    const chance = this.#chanceIn(channel, this.#rule.roughness(cell, frames) / frames, { frames, step });
    const count = chance < MOST_CHANCE ? this.#rule.scan(cell, frames, step, this.#hits) : 0;
    scan.push(this.#hits, this.#gains, this.#placeHits(channel.start, 0, count, chance, 0));
    channel.start += frames;
    cell.copyWithin(0, frames, channel.filled);
    channel.filled -= frames;
  }

  /** Whole cells; `x` begins with the two samples that the channel's cell holds. Returns the frames that are done. */
  #scanCells(channel: Channel, x: Int32Array, step: number): number {
    const cells = Math.min(CELLS_AT_ONCE, Math.floor((x.length - 2) / CELL));
    const frames = cells * CELL;
    const count = this.#rule.scanCells(x, { cells, cellFrames: CELL }, step, this.#roughnesses, this.#hits);
    let placed = 0;
    for (let cell = 0, k = 0; cell < cells; cell++) {
      const chance = this.#chanceIn(channel, this.#roughnesses[cell] / CELL, { frames: CELL, step });
      const first = k;
      for (const end = (cell + 1) * CELL; k < count && this.#hits[k] < end; ) k++;
      if (chance < MOST_CHANCE) placed = this.#placeHits(channel.start, first, k, chance, placed);
    }
    channel.scan.push(this.#hits, this.#gains, placed);
    channel.start += frames;
    channel.cell.set(x.subarray(frames, frames + 2));
    return frames;
  }

  /** Hits `from`..`to` - 1 of those at hand, counted from frame `start`, become frames with what each adds, at `placed` and after it.
   * Returns where they end. */
  #placeHits(start: number, from: number, to: number, chance: number, placed: number): number {
    if (from === to) return placed;
    const hits = this.#hits;
    const gains = this.#gains;
    const gain = LatticeScan.gainOf(chance);
    // Frame 0 has no sample before it.
    const first = start === 0 && hits[from] === 0 ? from + 1 : from;
    if (gain === 0) return placed;
    for (let k = first; k < to; k++, placed++) {
      hits[placed] = start + hits[k];
      gains[placed] = gain;
    }
    return placed;
  }

  /** Chance of one hit in the next cell, by its roughness and that of the cell before. A cell that is even through and through is as
   * likely concealed as the last that sounded was; after a long pause it tells nothing. */
  #chanceIn(channel: Channel, roughness: number, { frames, step }: { frames: number; step: number }): number {
    if (roughness === 0) {
      channel.evenFrames += frames;
      if (channel.evenFrames <= LONGEST) return Math.min(MOST_CHANCE_EVEN, channel.previousChance);
      channel.previousRoughness = 0;
      return 1;
    }
    channel.rough.add(roughness / step);
    const spread = (1.25 * Math.max(roughness, channel.previousRoughness)) / step;
    channel.previousRoughness = roughness;
    channel.previousChance = Math.min(0.98, 0.4 / Math.max(0.4, spread));
    channel.evenFrames = 0;
    return channel.previousChance;
  }

  #enough(): number {
    return Math.log(this.#reporter.chanceLimit) - Math.log(this.#info.frames * LATTICE_PERIODS.length);
  }

  /** The hits are marked once, however many candidates lie in the same sound. */
  #judgeDue(c: number, due: readonly Candidate[], known: Int32Array, knownStart: number): void {
    const last = due.reduce((end, one) => Math.max(end, spanEnd(one)), 0);
    const start = Math.max(knownStart, due[0].start - CONTEXT);
    const samples = known.subarray(start - knownStart, last + CONTEXT - knownStart);
    const step = this.#steps[c];
    const sound = new MarkedSound(samples, this.#rule, step, Math.max(step, stepOfOlderWord(this.#info.bits)));
    const enough = this.#enough();
    for (const candidate of due) {
      const at = candidate.start - start;
      const begin = Math.max(0, at - CONTEXT);
      const end = Math.min(samples.length, at + candidate.length + CONTEXT);
      // One sample to each side: the scan sees a row's ends only through their neighbours.
      const place = { begin, end, from: Math.max(begin + 1, at - 1), to: Math.min(end - 1, at + candidate.length + 1) };
      for (const judgement of judge(sound, place, candidate.period, enough)) {
        const { from, to } = judgement;
        this.#channels[c].judged.push({ start: start + from, length: to - from, judgement });
      }
    }
  }

  #verdictOf(c: number, { rough }: Channel, placed: readonly Placed[]): Verdict {
    const replaced = placed.reduce((sum, one) => sum + one.judgement.replaced, 0);
    const { chanceLimit } = this.#reporter;
    const seen = visibleRows(rough, this.#rule.width, { chanceLimit, enough: this.#enough() });
    return {
      channel: c + 1,
      question: `${this.#rule.kind}-seen`,
      answer: replaced,
      confidence: placed.reduce((product, one) => product * confidenceOf(this.#expected(one)), 1),
      detectionLimit: seen.text,
      evidence: { unit: 'samples replaced', findings: placed.length, ...seen.evidence, chanceLimit },
    };
  }

  #expected({ judgement }: Placed): number {
    return Math.exp(judgement.logChance + Math.log(this.#info.frames * LATTICE_PERIODS.length));
  }

  #findingOf(c: number, placed: Placed): Finding {
    const { start, length, judgement } = placed;
    const { id, version } = this.#reporter;
    const expectedByChance = this.#expected(placed);
    return {
      detector: id,
      version,
      kind: this.#rule.kind,
      channels: [c + 1],
      start,
      length,
      confidence: confidenceOf(expectedByChance),
      expectedByChance,
      measured: judgement.replaced,
      expected: null,
      unit: 'samples',
      detail: {
        period: judgement.period,
        pattern: judgement.pattern,
        replaced: judgement.replaced,
        misses: judgement.misses,
        besideShare: Math.round(1000 * judgement.besideShare) / 1000,
        rounding: judgement.rounding,
        log10Chance: Math.round((judgement.logChance / Math.LN10) * 10) / 10,
      },
    };
  }
}

function stepOf(channel: Channel): number {
  return channel.step.stepExponent(ON_STEP);
}

function confidenceOf(expectedByChance: number): number {
  return 1 / (1 + expectedByChance);
}
