// Watches every frame of a pass over a DAT frame dump for what the tape and the drive say besides samples. One for each pass.
import type { Problem } from '../../base/index.ts';
import type { CarrierEvent, CarrierReport } from '../carrier.ts';
import type { FrameBytes, FrameWatch } from '../framed/framed-file.ts';
import { LabelRuns, type TimeLabel } from '../framed/label-runs.ts';
import { type FramePlace, LossBook } from '../framed/loss-book.ts';
import { RepeatedFrames } from '../framed/repeated-frames.ts';
import type { DatFacts } from './dat-facts.ts';
import {
  DAT_SAMPLES,
  type DatSubId,
  PACK_BYTES,
  PACKS,
  packState,
  parseMainId,
  parseSubId,
  SOUND_BYTES,
} from './dat-frame.ts';
import { ABSOLUTE_TIME, DATE, dateOf, PROGRAMME_TIME, professionalTime, RUNNING_TIME, timeOf } from './dat-time.ts';
import type { DatSegment } from './index-dat.ts';

/** Frames in a second of a DAT's own times. */
const FRAMES_PER_SECOND = 100 / 3;
const COPY_WORDS = ['allowed', 'unused-code', 'prohibited', 'one-generation'] as const;
const MOST_LISTED = 10_000;

export class DatReporter implements FrameWatch {
  readonly #segment: DatSegment;
  readonly #losses = new LossBook(2, 1);
  readonly #absolute = new LabelRuns(FRAMES_PER_SECOND);
  readonly #repeated = new RepeatedFrames();
  readonly #copy = new Map<string, number>();
  readonly #programmes: { firstFrame: number; frames: number; programme: number | string | null }[] = [];
  readonly #starts: number[] = [];
  readonly #skips: number[] = [];
  readonly #events: CarrierEvent[] = [];
  readonly #counts = { emphasis: 0, wide: 0, badPacks: 0, morePrograms: 0 };
  readonly #interpolated: [number, number] = [0, 0];
  #wasStart = false;
  #wasSkip = false;
  #recorded: DatFacts['recorded'] = null;
  #professional: string | null = null;

  constructor(segment: DatSegment) {
    this.#segment = segment;
  }

  frame(f: number, { bytes, at }: FrameBytes, planes: readonly Int32Array[]): void {
    const { table } = this.#segment;
    const place = { frame: f, start: table.start(f), samples: table.samplesOf(f) };
    const sub = parseSubId(bytes, at);
    this.#mainId(bytes, at);
    this.#interpolation(place, sub);
    this.#ids(place, sub);
    const label = this.#packs(bytes, at + SOUND_BYTES);
    this.#absolute.add(place, { label, clockSeconds: undefined, isRecordingStart: sub.isStart && !this.#wasStart });
    this.#repeated.add(place, planes, label?.text);
    this.#wasStart = sub.isStart;
    this.#wasSkip = sub.isSkip;
  }

  problems(): Problem[] {
    const problems: Problem[] = [];
    const tell = (id: string, frames: number, severity: Problem['severity'], message: string) => {
      if (frames > 0) problems.push({ id, severity, message: `${message}: ${frames}` });
    };
    tell(
      'dat-frames-lost',
      this.#absolute.missing,
      'damage',
      'frames of the tape that are missing, by its absolute time',
    );
    tell('dat-frames-repeated', this.#repeated.count, 'damage', 'frames that hold the sound of the frame before them');
    tell('dat-packs-damaged', this.#counts.badPacks, 'warning', 'packs of the subcode whose parity is wrong');
    return problems;
  }

  report(): CarrierReport {
    const all = [...this.#absolute.events(), ...this.#repeated.events(), ...this.#events];
    const events = all.sort((a, b) => a.start - b.start || a.kind.localeCompare(b.kind));
    return { losses: this.#losses.finish(), events, facts: [this.#facts()] };
  }

  #mainId(bytes: Uint8Array, at: number): void {
    const main = parseMainId(bytes, at);
    if (!main) return;
    if (main.isEmphasised) this.#counts.emphasis++;
    if (main.isWideTrack) this.#counts.wide++;
    const word = COPY_WORDS[main.copy];
    this.#copy.set(word, (this.#copy.get(word) ?? 0) + 1);
  }

  /** The flag says that some samples of the frame were estimated, not which. */
  #interpolation(place: FramePlace, { isLeftInterpolated, isRightInterpolated }: DatSubId): void {
    for (const [c, is] of [isLeftInterpolated, isRightInterpolated].entries()) {
      if (!is) continue;
      this.#interpolated[c]++;
      this.#losses.add(place, c, 'drive-interpolated', Uint16Array.of(place.samples));
    }
  }

  #ids({ frame, start }: FramePlace, { isStart, isSkip, ...sub }: DatSubId): void {
    const programme = sub.programme ?? null;
    if (isStart && !this.#wasStart && this.#starts.length < MOST_LISTED) {
      this.#starts.push(frame);
      this.#events.push({
        ...{
          kind: 'start-id',
          start,
          length: 0,
          firstFrame: frame,
          measured: programme ?? 'no number',
          expected: null,
        },
        ...{ unit: 'programme', confidence: 1, detail: {} },
      });
    }
    if (isSkip && !this.#wasSkip && this.#skips.length < MOST_LISTED) this.#skips.push(frame);
    const last = this.#programmes.at(-1);
    if (last?.programme === programme && last.firstFrame + last.frames === frame) last.frames++;
    else if (this.#programmes.length < MOST_LISTED) this.#programmes.push({ firstFrame: frame, frames: 1, programme });
    else this.#counts.morePrograms++;
  }

  /** The absolute time of the frame, if it has one. */
  #packs(bytes: Uint8Array, from: number): TimeLabel | undefined {
    let absolute: TimeLabel | undefined;
    for (let i = 0; i < PACKS; i++) {
      const at = from + i * PACK_BYTES;
      const state = packState(bytes, at);
      if (state === 'bad') this.#counts.badPacks++;
      if (state !== 'good') continue;
      const item = bytes[at] >> 4;
      if (item === ABSOLUTE_TIME) absolute = timeOf(bytes, at) ?? absolute;
      if (item === DATE) this.#recorded ??= dateOf(bytes, at) ?? null;
      if (item >= PROGRAMME_TIME && item <= RUNNING_TIME) this.#professional ??= professionalTime(bytes, at) ?? null;
    }
    return absolute;
  }

  #facts(): DatFacts {
    const { rateHz, table, firstFrame } = this.#segment;
    const { emphasis, wide, badPacks, morePrograms } = this.#counts;
    return {
      ...{ kind: 'dat', rateHz, word: 16, firstFrame, tapeFrames: table.length },
      ...{ emphasisFrames: emphasis, wideTrackFrames: wide, copy: Object.fromEntries(this.#copy) },
      ...{ interpolatedFrames: [this.#interpolated[0], this.#interpolated[1]], badPacks },
      absoluteTime: this.#absolute.facts(),
      programmes: { list: this.#programmes, more: morePrograms },
      ...{ startIds: this.#starts, skipIds: this.#skips },
      ...{ recorded: this.#recorded, professionalTime: this.#professional },
    };
  }
}

/** Left first, low byte first; what is not used at 44.1 and 32 kHz stays unread. */
export function decodeDat({ bytes, at }: FrameBytes, samples: number, [left, right]: readonly Int32Array[]): void {
  for (let n = 0, p = at; n < samples; n++, p += 4) {
    left[n] = ((bytes[p] | (bytes[p + 1] << 8)) << 16) >> 16;
    right[n] = ((bytes[p + 2] | (bytes[p + 3] << 8)) << 16) >> 16;
  }
}

export const MOST_SAMPLES = DAT_SAMPLES[48_000];
