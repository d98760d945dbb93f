// Damage to DIF streams with known truth: error codes by frame, sequence and block, heads that were away, cuts and flips. Changes a copy.
import { blockAt, frameBytes } from './dv-stream.ts';

export interface Stream {
  readonly bytes: Buffer;
  readonly lines: 525 | 625;
  readonly word: 16 | 12;
}

/** Every sample of one audio block becomes the error code. */
export function codeBlock({ bytes, lines, word }: Stream, frame: number, sequence: number, block: number): void {
  const at = frame * frameBytes(lines) + blockAt(sequence, block) + 8;
  if (word === 16) for (let i = 0; i < 72; i += 2) bytes.writeUInt16BE(0x8000, at + i);
  else for (let i = 0; i < 72; i += 3) bytes.set([0x80, 0x80, 0x00], at + i);
}

/** A lost track: all nine audio blocks of a sequence. */
export function codeTrack(stream: Stream, frame: number, sequence: number): void {
  for (let k = 0; k < 9; k++) codeBlock(stream, frame, sequence, k);
}

export function sequencesOf(lines: 525 | 625): number {
  return lines === 525 ? 10 : 12;
}

/** The tracks that one head writes in a frame: every second one, or on 8 mm cassettes every second scan of two tracks. */
export function tracksOfHead(lines: 525 | 625, carrier: '6.35 mm' | '8 mm', head: 0 | 1, frame: number): number[] {
  const tracks = Array.from({ length: sequencesOf(lines) }, (_, s) => s);
  if (carrier === '6.35 mm') return tracks.filter((s) => s % 2 === head);
  // Scans go on counting from frame to frame: five to a frame in 525, so that the heads swap.
  const scans = sequencesOf(lines) / 2;
  return tracks.filter((s) => (frame * scans + Math.floor(s / 2)) % 2 === head);
}
