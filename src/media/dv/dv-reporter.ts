// Watches every frame of a pass for what the tape says besides samples, and tells it at the end. One for each pass.
import type { JsonObject, Problem } from '../../base/index.ts';
import type { CarrierReport } from '../carrier.ts';
import type { ChannelTally, FrameBytes } from './decode-frame.ts';
import type { DvSegment } from './frame-index.ts';
import { NO_SOUND } from './frame-table.ts';
import { LossBook } from './loss-book.ts';

export class DvReporter {
  readonly #segment: DvSegment;
  readonly #channels: number;
  readonly #losses: LossBook;

  constructor(segment: DvSegment, channels: number) {
    const { system, difChannels } = segment.mode;
    this.#segment = segment;
    this.#channels = channels;
    this.#losses = new LossBook(channels, system.sequences * difChannels);
  }

  /** Frames in order, each once. */
  frame(f: number, _bytes: FrameBytes, _planes: readonly Int32Array[], tallies: readonly ChannelTally[]): void {
    const { table } = this.#segment;
    const place = { frame: f, start: table.start(f), samples: table.samplesOf(f) };
    const isWithoutSound = (table.flags(f) & NO_SOUND) !== 0;
    for (let c = 0; c < this.#channels; c++)
      if (tallies[c].hasAny) this.#losses.add(place, c, tallies[c], isWithoutSound);
  }

  problems(): Problem[] {
    return [];
  }

  report(): CarrierReport {
    return { carrier: 'dv', losses: this.#losses.finish(), events: [], facts: this.#facts() };
  }

  #facts(): JsonObject {
    const { mode, table } = this.#segment;
    return { system: mode.system.id, word: mode.word, tapeFrames: table.length };
  }
}
