// Where sample n of an audio block lies in a DIF frame, as tables to walk along. The rule is that of formats sheet 4.3
// (R18 R19, verified against two libraries); not for reading samples (decode-frame).
import { AUDIO_BLOCKS, AUDIO_DATA_AT, audioBlockAt, type DvSystem } from './dif-system.ts';

export interface Placement {
  /** byte of the frame at which sample n of the first audio block begins */
  readonly at: Int32Array;
  /** sequence of sample n within its audio block's half of the frame */
  readonly sequence: Uint8Array;
  /** sequence times nine plus the number of the audio block in it */
  readonly slot: Uint8Array;
}

/** Words of 16 bits take two bytes, pairs of 12-bit words three. */
export type EntryBytes = 2 | 3;

const made = new Map<string, Placement>();

export function placementOf(system: DvSystem, entryBytes: EntryBytes): Placement {
  const key = `${system.id} ${entryBytes}`;
  const placement = made.get(key) ?? makePlacement(system, entryBytes);
  made.set(key, placement);
  return placement;
}

/** Bytes from a sample of the first audio block to the same one of the second. */
export function secondHalfAt(system: DvSystem): number {
  return audioBlockAt(system.sequences / 2, 0) - audioBlockAt(0, 0);
}

function makePlacement(system: DvSystem, entryBytes: EntryBytes): Placement {
  const half = system.sequences / 2;
  const period = AUDIO_BLOCKS * half;
  const entries = (72 / entryBytes) * period;
  const placement = {
    at: new Int32Array(entries),
    sequence: new Uint8Array(entries),
    slot: new Uint8Array(entries),
  };
  for (let n = 0; n < entries; n++) {
    const sequence = (Math.floor(n / 3) + 2 * (n % 3)) % half;
    const block = 3 * (n % 3) + Math.floor((n % period) / (3 * half));
    placement.at[n] = audioBlockAt(sequence, block) + AUDIO_DATA_AT + entryBytes * Math.floor(n / period);
    placement.sequence[n] = sequence;
    placement.slot[n] = sequence * AUDIO_BLOCKS + block;
  }
  return placement;
}
