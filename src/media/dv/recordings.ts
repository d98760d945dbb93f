// The recordings on a tape, by their own clock and by the flag that says where one begins: which frames, when. Not a cut list: what is
// to be done with them is decided elsewhere.
import type { CarrierEvent } from '../carrier.ts';
import type { FramePlace } from '../framed/loss-book.ts';
import type { DvRecordings } from './dv-facts.ts';
import { secondsOfTape } from './tape-time.ts';

interface Recording {
  readonly firstFrame: number;
  lastFrame: number;
  readonly date: string | null;
  readonly time: string | null;
  readonly beganBy: 'stream' | 'flag' | 'clock';
}

const MOST_RECORDINGS = 10_000;
/** The clock counts whole seconds; beyond this it does not run on. */
const CLOCK_SLACK_SECONDS = 2;

export interface RecordingMoment {
  readonly date: string | undefined;
  readonly time: string | undefined;
  readonly isRecordingStart: boolean;
}

export class Recordings {
  readonly #frameRate: number;
  readonly #list: Recording[] = [];
  readonly #events: CarrierEvent[] = [];
  #more = 0;
  /** the last frame whose clock was read, and what it said */
  #clock: { frame: number; seconds: number } | undefined;
  #wasStart = false;

  constructor(frameRate: number) {
    this.#frameRate = frameRate;
  }

  add(place: FramePlace, moment: RecordingMoment): void {
    const seconds = moment.date && moment.time ? secondsOfTape(moment.date, moment.time) : undefined;
    const beganBy = this.#beginsHere(place.frame, moment, seconds);
    if (beganBy) this.#begin(place, moment, beganBy);
    const last = this.#list.at(-1);
    if (last) last.lastFrame = place.frame;
    if (seconds !== undefined) this.#clock = { frame: place.frame, seconds };
    this.#wasStart = moment.isRecordingStart;
  }

  events(): readonly CarrierEvent[] {
    return this.#events;
  }

  facts(): DvRecordings {
    const list = this.#list.map(({ firstFrame, lastFrame, date, time, beganBy }) => ({
      ...{ firstFrame, frames: lastFrame - firstFrame + 1, date, time, beganBy },
    }));
    return { list, more: this.#more };
  }

  /** The flag stays for some frames: only its first one counts. */
  #beginsHere(frame: number, moment: RecordingMoment, seconds: number | undefined): Recording['beganBy'] | undefined {
    if (this.#list.length === 0) return 'stream';
    if (moment.isRecordingStart && !this.#wasStart) return 'flag';
    if (seconds === undefined || !this.#clock) return undefined;
    const expected = this.#clock.seconds + (frame - this.#clock.frame) / this.#frameRate;
    return Math.abs(seconds - expected) > CLOCK_SLACK_SECONDS ? 'clock' : undefined;
  }

  #begin({ frame, start }: FramePlace, { date, time }: RecordingMoment, beganBy: Recording['beganBy']): void {
    if (this.#list.length >= MOST_RECORDINGS) {
      this.#more++;
      return;
    }
    const [day, clock] = [date ?? null, time ?? null];
    this.#list.push({ firstFrame: frame, lastFrame: frame, date: day, time: clock, beganBy });
    if (beganBy === 'stream') return;
    this.#events.push({
      ...{
        kind: 'recording-start',
        start,
        length: 0,
        firstFrame: frame,
        measured: clock ?? 'no clock',
        expected: null,
      },
      ...{
        unit: beganBy === 'flag' ? 'flag of the tape' : 'clock of the tape',
        confidence: beganBy === 'flag' ? 1 : 0.9,
      },
      detail: { date: day, time: clock, beganBy },
    });
  }
}
