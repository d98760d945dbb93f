// The concealment list of a tape: which of its frames lost what, by channel and track, as runs of frames that lost the same tracks.
// Bounded: where there are far too many runs, neighbours are joined and the tracks of the run are those of any of its frames.
import type { CarrierLoss, CarrierLossCause } from '../carrier.ts';

interface OpenRun {
  readonly firstFrame: number;
  readonly start: number;
  end: number;
  lastFrame: number;
  samples: number;
  key: string;
  readonly byTrack: Map<number, number>;
}

/** Runs of one channel and cause that are kept apart; some megabytes. */
const MOST_RUNS = 20_000;

export interface FramePlace {
  readonly frame: number;
  /** first sample of the frame, counted in the stretch that is read */
  readonly start: number;
  readonly samples: number;
}

export class LossBook {
  readonly #lists = new Map<string, LossList>();
  /** lost samples by channel (0-based) and track */
  readonly byTrack: Float64Array[];

  /** `tracks`: of one frame; 1 where the carrier does not tell them apart */
  constructor(channels: number, tracks: number) {
    this.byTrack = Array.from({ length: channels }, () => new Float64Array(tracks));
  }

  /** `channel` counted from 0; `byTrack`: samples lost. Frames in order. */
  add(place: FramePlace, channel: number, cause: CarrierLossCause, byTrack: Uint16Array): void {
    if (!byTrack.some((samples) => samples > 0)) return;
    const key = `${cause} ${channel}`;
    const list = this.#lists.get(key) ?? new LossList(cause, channel + 1);
    this.#lists.set(key, list);
    list.add(place, byTrack);
    for (let t = 0; t < byTrack.length; t++) this.byTrack[channel][t] += byTrack[t];
  }

  /** In the order of place, then channel. */
  finish(): CarrierLoss[] {
    const all = [...this.#lists.values()].flatMap((list) => list.finish());
    return all.sort((a, b) => a.start - b.start || a.channel - b.channel || a.cause.localeCompare(b.cause));
  }
}

class LossList {
  readonly #cause: CarrierLossCause;
  readonly #channel: number;
  readonly #runs: OpenRun[] = [];

  constructor(cause: CarrierLossCause, channel: number) {
    this.#cause = cause;
    this.#channel = channel;
  }

  add({ frame, start, samples }: FramePlace, byTrack: Uint16Array): void {
    const key = tracksOf(byTrack);
    const last = this.#runs.at(-1);
    const isNext = last?.lastFrame === frame - 1;
    const run =
      last && ((isNext && last.key === key) || this.#runs.length >= MOST_RUNS) ? last : this.#begin(frame, start);
    run.key = key;
    run.lastFrame = frame;
    run.end = start + samples;
    for (const [track, lost] of byTrack.entries()) {
      if (lost === 0) continue;
      run.samples += lost;
      run.byTrack.set(track, (run.byTrack.get(track) ?? 0) + lost);
    }
  }

  finish(): CarrierLoss[] {
    return this.#runs.map(({ firstFrame, lastFrame, start, end, samples, byTrack }) => ({
      cause: this.#cause,
      channel: this.#channel,
      start,
      length: end - start,
      firstFrame,
      frames: lastFrame - firstFrame + 1,
      samples,
      tracks: [...byTrack].sort(([a], [b]) => a - b).map(([track, lost]) => ({ track, samples: lost })),
    }));
  }

  #begin(frame: number, start: number): OpenRun {
    const run: OpenRun = {
      firstFrame: frame,
      start,
      end: start,
      lastFrame: frame,
      samples: 0,
      key: '',
      byTrack: new Map(),
    };
    this.#runs.push(run);
    return run;
  }
}

function tracksOf(byTrack: Uint16Array): string {
  let key = '';
  for (const [track, lost] of byTrack.entries()) if (lost > 0) key += `${track} `;
  return key;
}
