// The time code along a stream as runs in which it counts on by one, and what its jumps say: frames that are missing from the capture, or
// that came twice. A jump where a recording begins is the tape's own; one where the clock of the recording jumps by as much is lost time.
import type { CarrierEvent } from '../carrier.ts';
import type { FramePlace } from '../framed/loss-book.ts';
import type { DvTimecodes } from './dv-facts.ts';
import { frameNumberOf, type TapeTimecode, timecodeText } from './tape-time.ts';

/** What is known of a frame besides its time code. */
export interface FrameMoment {
  readonly timecode: TapeTimecode | undefined;
  /** of the recording's own clock, seconds; undefined where the tape has none */
  readonly clockSeconds: number | undefined;
  readonly isRecordingStart: boolean;
}

interface Run {
  readonly firstFrame: number;
  frames: number;
  readonly from: TapeTimecode;
  to: TapeTimecode;
}

const MOST_RUNS = 10_000;
/** Frames that are called missing at most; a longer jump is another place of the tape. */
const LONGEST_GAP_SECONDS = 60;
/** Clocks of recordings count whole seconds: so far two differences may be apart. */
const CLOCK_SLACK_SECONDS = 1.5;

export class TimecodeRuns {
  readonly #lines: 525 | 625;
  readonly #runs: Run[] = [];
  readonly #events: CarrierEvent[] = [];
  #more = 0;
  #last: { number: number; clockSeconds: number | undefined; frame: number } | undefined;
  #framesWithout = 0;
  #missing = 0;

  constructor(lines: 525 | 625) {
    this.#lines = lines;
  }

  /** frames that are missing by the jumps of the time code */
  get missing(): number {
    return this.#missing;
  }

  add(place: FramePlace, moment: FrameMoment): void {
    const { timecode, clockSeconds } = moment;
    if (!timecode) {
      this.#framesWithout++;
      return;
    }
    const number = frameNumberOf(timecode, this.#lines);
    const passed = this.#last ? place.frame - this.#last.frame : 1;
    const step = this.#last ? number - this.#last.number : undefined;
    const run = this.#runs.at(-1);
    if (run && step === passed) {
      run.frames = place.frame - run.firstFrame + 1;
      run.to = timecode;
    } else {
      if (step !== undefined) this.#jump(place, moment, step - passed, run?.to);
      if (this.#runs.length < MOST_RUNS)
        this.#runs.push({ firstFrame: place.frame, frames: 1, from: timecode, to: timecode });
      else this.#more++;
    }
    this.#last = { number, clockSeconds, frame: place.frame };
  }

  events(): readonly CarrierEvent[] {
    return this.#events;
  }

  facts(): DvTimecodes {
    const runs = this.#runs.map(({ firstFrame, frames, from, to }) => ({
      ...{ firstFrame, frames, from: timecodeText(from), to: timecodeText(to) },
    }));
    return { runs, framesWithout: this.#framesWithout, moreRuns: this.#more };
  }

  /** `jump`: labels left out; negative where the code goes back, 0 never comes here. */
  #jump({ frame, start }: FramePlace, moment: FrameMoment, jump: number, from: TapeTimecode | undefined): void {
    if (this.#events.length >= MOST_RUNS || !moment.timecode || !from) return;
    const clock = this.#clockSays(moment, jump);
    const isGap = jump > 0 && jump <= LONGEST_GAP_SECONDS * this.#rate() && !moment.isRecordingStart && clock !== 'no';
    if (isGap) this.#missing += jump;
    this.#events.push({
      ...{ kind: isGap ? 'lost-frames' : 'timecode-jump', start, length: 0, firstFrame: frame },
      ...{ measured: jump, expected: 0, unit: isGap ? 'frames of the tape missing' : 'frames of time code' },
      confidence: isGap ? (clock === 'yes' ? 0.95 : 0.6) : 1,
      detail: { from: timecodeText(from), to: timecodeText(moment.timecode), recordingClock: clock },
    });
  }

  /** Whether the clock of the recording jumped by as many seconds as the time code. */
  #clockSays({ clockSeconds }: FrameMoment, jump: number): 'yes' | 'no' | 'nothing' {
    const before = this.#last?.clockSeconds;
    if (clockSeconds === undefined || before === undefined) return 'nothing';
    return Math.abs(clockSeconds - before - jump / this.#rate()) <= CLOCK_SLACK_SECONDS ? 'yes' : 'no';
  }

  #rate(): number {
    return this.#lines === 525 ? 30 : 25;
  }
}
