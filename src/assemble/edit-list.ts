// The edit list: a frozen document from which the identical master can be rendered again from the same captures.
import type { Span } from '../base/index.ts';

/** One file of a capture that is read from several, one after the other. */
export interface EditSourcePart {
  readonly path: string;
  readonly sha256: string;
  readonly frames: number;
}

export interface EditSource {
  /** relative to the folder of the list; of several files the first */
  readonly path: string;
  /** of the file, or of the bytes of all parts in order */
  readonly sha256: string;
  readonly audioSha256: string;
  readonly frames: number;
  readonly channels: number;
  readonly bits: number;
  /** all files in order, when there are several; their frames add up to `frames` */
  readonly parts?: readonly EditSourcePart[];
  /** the files hold bare samples, stored so ("48000:2:s24le") */
  readonly raw?: string;
  /** audio behind a stated size that is too short is part of the capture */
  readonly trailing?: true;
  /** the stretch of a stream whose mode changes, counted from 1 */
  readonly segment?: number;
}

/** Master frames [start, start+length) of one channel: frames of a source from `from`, or silence when source is null. */
export interface EditPiece extends Span {
  readonly source: number | null;
  /** 1-based */
  readonly fileChannel: number;
  readonly from: number;
}

export interface EditList {
  readonly schema: 'tapeproof/edit-list@1';
  readonly tape: string;
  readonly rate: { readonly num: number; readonly den: number };
  readonly bits: number;
  readonly frames: number;
  readonly sources: readonly EditSource[];
  /** one per master channel, in order; pieces abut from 0 to `frames` */
  readonly channels: readonly { readonly channel: number; readonly pieces: readonly EditPiece[] }[];
  /** digest of the rendered audio payload, to prove a later rendering */
  readonly audioSha256: string;
}
