// Frames whose sound is that of the frame before, sample for sample: a program or a deck that had nothing new gave the last frame
// again. Silence and steady tones are no evidence: the sound must move, and not fit into itself.
import type { CarrierEvent } from '../carrier.ts';
import type { FramePlace } from './loss-book.ts';

const MOST_EVENTS = 10_000;
/** Different values below which a frame is no sound that could be told again. */
const FEWEST_VALUES = 16;

export class RepeatedFrames {
  #before: Int32Array[] = [];
  #samplesBefore = 0;
  #timecodeBefore: string | undefined;
  readonly #events: CarrierEvent[] = [];
  #count = 0;

  get count(): number {
    return this.#count;
  }

  /** `planes` hold the frame at their beginning. */
  add(place: FramePlace, planes: readonly Int32Array[], timecode: string | undefined): void {
    const { samples } = place;
    const isSame =
      samples === this.#samplesBefore && planes.every((plane, c) => isEqual(plane, this.#before[c], samples));
    if (isSame && planes.some((plane) => moves(plane, samples))) this.#found(place, timecode);
    if (this.#before.length === 0) this.#before = planes.map((plane) => new Int32Array(plane.length));
    for (const [c, plane] of planes.entries()) this.#before[c].set(plane);
    this.#samplesBefore = samples;
    this.#timecodeBefore = timecode;
  }

  events(): readonly CarrierEvent[] {
    return this.#events;
  }

  #found({ frame, start, samples }: FramePlace, timecode: string | undefined): void {
    this.#count++;
    if (this.#events.length >= MOST_EVENTS) return;
    const isSameLabel = timecode !== undefined && timecode === this.#timecodeBefore;
    this.#events.push({
      ...{
        kind: 'repeated',
        start,
        length: samples,
        firstFrame: frame,
        measured: 1,
        expected: 0,
        unit: 'frames given again',
      },
      confidence: isSameLabel ? 0.999 : 0.99,
      detail: { timecode: timecode ?? null, isSameLabel },
    });
  }
}

function isEqual(a: Int32Array, b: Int32Array | undefined, samples: number): boolean {
  if (!b) return false;
  for (let i = 0; i < samples; i++) if (a[i] !== b[i]) return false;
  return true;
}

function moves(plane: Int32Array, samples: number): boolean {
  const seen = new Set<number>();
  for (let i = 0; i < samples && seen.size < FEWEST_VALUES; i++) seen.add(plane[i]);
  return seen.size >= FEWEST_VALUES;
}
