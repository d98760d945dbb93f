// The most striking joints of a channel, as many as may be looked at again: sound made of breaks would otherwise fill the memory and
// take hours. Not for what is striking about them: the ratio says.
import type { Joint } from './joint-scan.ts';

export class MostStriking {
  readonly #most: number;
  #joints: Joint[] = [];
  #seen = 0;

  constructor(most: number) {
    this.#most = most;
  }

  add(joint: Joint): void {
    this.#seen++;
    this.#joints.push(joint);
    // Twice as many, so that sorting stays rare.
    if (this.#joints.length >= 2 * this.#most) this.#joints = this.joints.slice();
  }

  /** The largest ratios; of equal ones the earlier. */
  get joints(): readonly Joint[] {
    if (this.#joints.length <= this.#most) return this.#joints;
    return this.#joints.toSorted((a, b) => b.ratio - a.ratio || a.frame - b.frame).slice(0, this.#most);
  }

  get isShort(): boolean {
    return this.#seen > this.#most;
  }
}
