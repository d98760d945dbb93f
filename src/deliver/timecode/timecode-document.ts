// The JSON document of `timecode`: per file and channel what the timecode says, or that there is none. Not for its text faces.
import type { Rate } from '../../base/index.ts';
import type { TimecodeSummary } from '../../signal/index.ts';
import type { FailedFile } from '../documents.ts';

/** One word as it was read; only where each was asked for. */
export interface TimecodeWordRow {
  readonly start: number;
  readonly end: number;
  readonly timecode: string;
  readonly isReverse: boolean;
  readonly isDrop: boolean;
  readonly isColourFrame: boolean;
  readonly userBits: string;
  readonly hasEvenZeros: boolean;
}

export interface TimecodeChannel extends TimecodeSummary {
  readonly channel: number;
  readonly eachWord?: readonly TimecodeWordRow[];
}

export interface TimecodeFile {
  readonly path: string;
  readonly rate: Rate;
  readonly frames: number;
  /** channels that carry timecode */
  readonly channels: readonly TimecodeChannel[];
  /** channels in which none was found */
  readonly without: readonly number[];
}

export interface TimecodeDocument {
  readonly schema: 'tapeproof/timecode@1';
  readonly files: readonly TimecodeFile[];
  /** only there when a file failed */
  readonly failed?: readonly FailedFile[];
}

export function timecodeDocument(files: readonly TimecodeFile[], failed: readonly FailedFile[] = []): TimecodeDocument {
  return { schema: 'tapeproof/timecode@1', files, ...(failed.length ? { failed } : {}) };
}
