// The time labels along a stream (time code, absolute time) as runs in which they count on by one, and what their jumps say: frames that
// are missing from the capture. A jump where a recording begins is the tape's own; one where the clock of the recording jumps by as much is lost time.
import type { CarrierEvent } from '../carrier.ts';
import type { FramePlace } from './loss-book.ts';

export interface TimeLabel {
  /** frames since label zero */
  readonly number: number;
  readonly text: string;
}

/** What is known of the time of a frame. */
export interface FrameMoment {
  readonly label: TimeLabel | undefined;
  /** of the recording's own clock, seconds; undefined where the tape has none */
  readonly clockSeconds: number | undefined;
  readonly isRecordingStart: boolean;
}

interface Run {
  readonly firstFrame: number;
  frames: number;
  readonly from: string;
  to: string;
}

/** For documents. */
export interface LabelFacts {
  /** stretches in which the labels count on by one */
  readonly runs: readonly Readonly<Run>[];
  readonly framesWithout: number;
  /** runs beyond those listed */
  readonly moreRuns: number;
}

const MOST_RUNS = 10_000;
/** Frames that are called missing at most; a longer jump is another place of the tape. */
const LONGEST_GAP_SECONDS = 60;
/** Clocks of recordings count whole seconds: so far two differences may be apart. */
const CLOCK_SLACK_SECONDS = 1.5;
/** Frames in which a code that jumps and jumps back was misread. */
const MISREAD_FRAMES = 3;

export class LabelRuns {
  /** labels in a second, to compare with clocks */
  readonly #perSecond: number;
  readonly #runs: Run[] = [];
  readonly #events: CarrierEvent[] = [];
  #more = 0;
  #last: { number: number; clockSeconds: number | undefined; frame: number } | undefined;
  #framesWithout = 0;
  #missing = 0;

  constructor(perSecond: number) {
    this.#perSecond = perSecond;
  }

  /** frames that are missing by the jumps of the time code */
  get missing(): number {
    return this.#missing;
  }

  add(place: FramePlace, moment: FrameMoment): void {
    const { label, clockSeconds } = moment;
    if (!label) {
      this.#framesWithout++;
      return;
    }
    const { number, text } = label;
    const passed = this.#last ? place.frame - this.#last.frame : 1;
    const step = this.#last ? number - this.#last.number : undefined;
    const run = this.#runs.at(-1);
    if (run && step === passed) {
      // Beyond the list nothing is counted any more.
      if (this.#more === 0) Object.assign(run, { frames: place.frame - run.firstFrame + 1, to: text });
    } else {
      if (step !== undefined) this.#jump(place, moment, step - passed, run?.to);
      if (this.#runs.length < MOST_RUNS) this.#runs.push({ firstFrame: place.frame, frames: 1, from: text, to: text });
      else this.#more++;
    }
    this.#last = { number, clockSeconds, frame: place.frame };
  }

  events(): readonly CarrierEvent[] {
    return this.#events;
  }

  facts(): LabelFacts {
    return { runs: this.#runs, framesWithout: this.#framesWithout, moreRuns: this.#more };
  }

  /** `jump`: labels left out; negative where the code goes back, 0 never comes here. */
  #jump({ frame, start }: FramePlace, moment: FrameMoment, jump: number, from: string | undefined): void {
    if (this.#events.length >= MOST_RUNS || !moment.label || !from) return;
    this.#takeBack(frame, jump);
    const clock = this.#clockSays(moment, jump);
    const isGap =
      jump > 0 && jump <= LONGEST_GAP_SECONDS * this.#perSecond && !moment.isRecordingStart && clock !== 'no';
    if (isGap) this.#missing += jump;
    this.#events.push({
      ...{ kind: isGap ? 'lost-frames' : 'timecode-jump', start, length: 0, firstFrame: frame },
      ...{ measured: jump, expected: 0, unit: isGap ? 'frames of the tape missing' : 'frames of time code' },
      confidence: isGap ? (clock === 'yes' ? 0.95 : 0.6) : 1,
      detail: { from, to: moment.label.text, recordingClock: clock },
    });
  }

  /** A label that stands alone was misread: the code jumps there and back, and nothing is missing. */
  #takeBack(frame: number, jump: number): void {
    const last = this.#events.at(-1);
    if (last?.kind !== 'lost-frames' || last.measured !== -jump || frame - last.firstFrame > MISREAD_FRAMES) return;
    this.#missing += jump;
    const unit = 'frames of time code, misread: it jumps back at once';
    this.#events[this.#events.length - 1] = { ...last, kind: 'timecode-jump', unit, confidence: 1 };
  }

  /** Whether the clock of the recording jumped by as many seconds as the time code. */
  #clockSays({ clockSeconds }: FrameMoment, jump: number): 'yes' | 'no' | 'nothing' {
    const before = this.#last?.clockSeconds;
    if (clockSeconds === undefined || before === undefined) return 'nothing';
    return Math.abs(clockSeconds - before - jump / this.#perSecond) <= CLOCK_SLACK_SECONDS ? 'yes' : 'no';
  }
}
