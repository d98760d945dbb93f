// The scans for breaks of all channels, made once per block for all detectors that look for them (clicks, slips): the dear part of both. Any of
// them may as well be alone. Not for what a break is.
import type { Block } from '../../base/index.ts';
import { JointScan } from './joint-scan.ts';

/** Keyed by the block itself, never by its planes, which producers reuse. */
const scanned = new WeakMap<Block, JointScans>();

export class JointScans {
  readonly channels: readonly JointScan[];
  #frames = 0;
  #isFinished = false;

  constructor(channels: number) {
    this.channels = Array.from({ length: channels }, () => new JointScan());
  }

  /** These scans, or another detector's that have seen the same, with that block seen. To be used from now on in their place. */
  after(block: Block): JointScans {
    const known = scanned.get(block);
    if (known && (known === this || known.#frames === this.#frames + block.frames)) return known;
    for (const [c, scan] of this.channels.entries()) scan.push(block.planes[c]);
    this.#frames += block.frames;
    scanned.set(block, this);
    return this;
  }

  /** Once, whoever comes first. */
  finish(): void {
    if (!this.#isFinished) for (const scan of this.channels) scan.finish();
    this.#isFinished = true;
  }
}
