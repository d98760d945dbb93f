// Writes blocks of a master into the parts that hold them, each with its place marked; and a copy of the whole with all places marked. Not for
// deciding where to cut.
import { basename } from 'node:path';
import type { CutLine, CutPart, CutSet } from '../assemble/index.ts';
import { type Block, sliceBlock } from '../base/index.ts';
import { type AudioWriter, type Cue, createAudio, cueChunks, type MediaInfo, type Written } from '../media/index.ts';
import { containerFor, justified } from './write-master.ts';

export interface WrittenPart {
  readonly name: string;
  readonly digests: Written['digests'];
}

/** State with a life: write all blocks in order, finish once; abort after any failure. */
export class PartWriters {
  readonly #info: MediaInfo;
  readonly #sets: readonly CutSet[];
  readonly #pathOf: (set: number, part: number) => string;
  readonly #open: (AudioWriter | undefined)[];
  readonly #next: number[];
  readonly #written: WrittenPart[][];

  constructor(info: MediaInfo, sets: readonly CutSet[], pathOf: (set: number, part: number) => string) {
    this.#info = info;
    this.#sets = sets;
    this.#pathOf = pathOf;
    this.#open = sets.map(() => undefined);
    this.#next = sets.map(() => 0);
    this.#written = sets.map(() => []);
  }

  async write(block: Block): Promise<void> {
    for (const [s, { parts, channels }] of this.#sets.entries()) {
      const own = { ...block, planes: channels.map((channel) => block.planes[channel - 1]) };
      for (let at = 0; at < block.frames; ) {
        const part = parts[this.#next[s]];
        this.#open[s] ??= await openPart(this.#pathOf(s, this.#next[s]), this.#info, part);
        const length = Math.min(block.frames - at, part.start + part.length - block.start - at);
        const shift = containerFor(this.#info.bits) - this.#info.bits;
        await this.#open[s]?.write(justified(sliceBlock(own, at, length), shift));
        at += length;
        if (block.start + at === part.start + part.length) await this.#close(s);
      }
    }
  }

  /** By set, in order. */
  async finish(): Promise<readonly (readonly WrittenPart[])[]> {
    for (const s of this.#sets.keys()) if (this.#open[s]) await this.#close(s);
    return this.#written;
  }

  async abort(): Promise<void> {
    for (const writer of this.#open) await writer?.abort();
  }

  async #close(s: number): Promise<void> {
    const written = await this.#open[s]?.commit();
    this.#open[s] = undefined;
    this.#next[s]++;
    if (written) this.#written[s].push({ name: basename(written.path), digests: written.digests });
  }
}

function openPart(path: string, { rate, bits }: MediaInfo, part: CutPart): Promise<AudioWriter> {
  const whole = { frame: 0, frames: part.length, label: part.title || basename(path, '.wav'), note: part.why };
  const marks = part.marks.map(({ frame, title, why }): Cue => {
    return { frame: frame - part.start, frames: 0, label: title || 'marked', note: why };
  });
  const { length: frames } = part;
  const format = { channels: part.channels.length, rate, bits: containerFor(bits), validBits: bits, frames };
  return createAudio(path, { ...format, chunks: cueChunks([whole, ...marks]) });
}

export function markedName(master: string): string {
  return `${basename(master).replace(/\.[^.]*$/, '')}-marked.wav`;
}

/** A copy of a master with a cue for every line of its list. */
export class MarkedCopy {
  readonly #writer: AudioWriter;
  readonly #shift: number;

  private constructor(writer: AudioWriter, shift: number) {
    this.#writer = writer;
    this.#shift = shift;
  }

  static async create(path: string, { channels, rate, bits, frames }: MediaInfo, lines: readonly CutLine[]) {
    const cues = [...lines]
      .sort((a, b) => a.start - b.start)
      .map((line, i): Cue => {
        const later = lines.filter(({ isCut, start, channels: own }) => {
          return isCut && start > line.start && own.join() === line.channels.join();
        });
        const end = later.reduce((least, { start }) => Math.min(least, start), frames);
        const label = line.title || (line.isCut ? `programme ${i + 1}` : 'marked');
        return { frame: line.start, frames: line.isCut ? end - line.start : 0, label, note: line.why };
      });
    const container = containerFor(bits);
    const format = { channels, rate, bits: container, validBits: bits, frames, chunks: cueChunks(cues) };
    return new MarkedCopy(await createAudio(path, format), container - bits);
  }

  write(block: Block): Promise<void> {
    return this.#writer.write(justified(block, this.#shift));
  }

  async finish(): Promise<void> {
    await this.#writer.commit();
  }

  abort(): Promise<void> {
    return this.#writer.abort();
  }
}
