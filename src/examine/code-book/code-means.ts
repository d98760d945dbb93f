// Means in codes: a deck of a companded format may cover a lost sample with the mean of its neighbours' codes before it expands them.
// Such a sample lies in the book and, where the law is coarse, beside the mean of the samples: only the codes show it. The rows,
// lattices and chances are those of concealment/, with the codes for samples. Needs the law; samples outside the book: off-book.ts.
import { type Block, type FrameInfo, type SegmentLaw, type Span, spanEnd } from '../../base/index.ts';
import { codeNumbers } from '../../signal/index.ts';
import { codeMeanRule } from '../concealment/hits.ts';
import { latticeSession } from '../concealment/lattice-detector.ts';
import type { DetectorSession, Emit } from '../detector.ts';

export interface CompandedChannel {
  /** 0-based */
  readonly channel: number;
  readonly law: SegmentLaw;
  /** bits by which the law's word stands left in the samples */
  readonly shift: number;
  /** what lies outside the book, once all has been seen: rows that touch it were covered after the expansion */
  readonly offBook: readonly Span[];
}

export interface MeansReporter {
  readonly id: string;
  readonly version: number;
  readonly chanceLimit: number;
}

/** State with a life: `look` at everything, then at the spans that the first `finishLook` finds worth it. */
export class CodeMeans {
  readonly #channels: readonly CompandedChannel[];
  readonly #tables: readonly Int16Array[];
  readonly #rows: DetectorSession;
  #isSecond = false;
  #further: readonly Span[] | undefined;

  constructor(info: FrameInfo, channels: readonly CompandedChannel[], reporter: MeansReporter, emit: Emit) {
    this.#channels = channels;
    this.#tables = channels.map(({ law }) => tableOf(law));
    const codes = { ...info, channels: channels.length, bits: Math.max(...channels.map(({ law }) => law.codeBits)) };
    this.#rows = latticeSession(codes, codeMeanRule, reporter, this.#emitOf(emit));
  }

  look(block: Block): void {
    const planes = this.#channels.map(({ channel, shift }, k) =>
      codesOf(block.planes[channel], this.#tables[k], shift),
    );
    const codes = { start: block.start, frames: block.frames, planes };
    if (this.#isSecond) this.#rows.look?.(codes);
    else this.#rows.push(codes);
  }

  finishLook(): void {
    if (!this.#isSecond) this.#further = this.#rows.finish();
    if (this.#isSecond || !this.#further?.length) this.#rows.finishLook?.();
    this.#isSecond = true;
  }

  /** Spans for the second look; nothing after it. */
  lookFurther(): readonly Span[] | undefined {
    const spans = this.#further;
    this.#further = undefined;
    return spans;
  }

  #emitOf(emit: Emit): Emit {
    return {
      finding: (finding) => {
        const { channel, law, offBook } = this.#channels[finding.channels[0] - 1];
        // A deck rounds one way: a row that keeps none is the sound's own, which coarse codes draw nearly straight now and then.
        if (finding.detail.period === 1 && finding.detail.rounding === 'mixed') return;
        if (offBook.some((span) => span.start < spanEnd(finding) && finding.start < spanEnd(span))) return;
        const detail = { ...finding.detail, law: law.id, domain: 'codes' };
        emit.finding({ ...finding, channels: [channel + 1], unit: 'samples, means in codes', detail });
      },
      verdict: (verdict) => {
        const { channel, law } = this.#channels[verdict.channel - 1];
        const detectionLimit = `in the codes of ${law.id}: ${verdict.detectionLimit}`;
        emit.verdict({ ...verdict, channel: channel + 1, question: 'interpolated-in-codes-seen', detectionLimit });
      },
    };
  }
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
