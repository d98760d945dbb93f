// Keeps the search for good frames linear in the length of the file. Forged headers can make every byte look like the beginning
// of a frame that must be decoded for a megabyte before its checksum fails. True damage is nothing like that: a damaged frame
// costs about its own length once, and false headers come once in millions of bytes.

/** Bytes of failed decoding that each byte of progress pays for. */
const CREDIT_PER_BYTE = 16;
const FIRST_CREDIT = 4 * 1024 * 1024;

export class FlacPatience {
  #credit = FIRST_CREDIT;
  #last: number | undefined;

  /** How many bytes to move on after an attempt at `at` that cost as much: 1, but more when patience is used up. */
  step(at: number, cost: number): number {
    const moved = this.#last === undefined ? 0 : Math.abs(at - this.#last);
    this.#last = at;
    this.#credit = Math.min(FIRST_CREDIT, this.#credit + moved * CREDIT_PER_BYTE) - cost;
    return this.#credit >= 0 ? 1 : Math.max(1, Math.ceil(-this.#credit / CREDIT_PER_BYTE));
  }
}
