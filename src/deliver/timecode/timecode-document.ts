// The JSON document of `timecode`: per file and channel what the timecode says, or that there is none. Not for its text faces.
import type { Rate } from '../../base/index.ts';
import type { FailedFile } from '../documents.ts';

export interface TimecodeMapPoint {
  readonly timecode: string;
  readonly number: number;
  readonly at: number;
}

export interface TimecodeStretch {
  readonly kind: 'running' | 'still';
  readonly direction: 'forward' | 'reverse';
  readonly count: number;
  readonly isDrop: boolean;
  readonly start: number;
  readonly end: number;
  readonly from: string;
  readonly to: string;
  readonly words: number;
  readonly missing: number;
  readonly framesPerSecond: number | null;
  readonly speed: number | null;
  readonly ppm: number | null;
  readonly ppmError: number | null;
  readonly clock: 'locked' | 'free-running' | 'varying' | 'cannot tell';
  readonly samplesPerFrame: number | null;
  readonly samplesPerFrameError: number | null;
  readonly residual: number | null;
  readonly map: readonly TimecodeMapPoint[];
  readonly mapTolerance: number;
}

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

export interface TimecodeChannel {
  readonly channel: number;
  readonly count: number;
  readonly isDrop: boolean;
  readonly isCountSeen: boolean;
  readonly nominal: Rate | null;
  readonly candidates: readonly Rate[];
  readonly nominalBecause: string;
  readonly from: string;
  readonly to: string;
  readonly words: number;
  readonly missing: number;
  readonly unconfirmed: number;
  readonly expectedByChance: number;
  readonly sections: readonly TimecodeStretch[];
  readonly gaps: readonly { readonly start: number; readonly end: number; readonly missing: number }[];
  readonly jumps: readonly {
    readonly at: number;
    readonly kind: 'jump' | 'turn' | 'stop' | 'start';
    readonly from: string;
    readonly to: string;
    readonly frames: number | null;
    readonly unreadFrames: number;
  }[];
  readonly userBits: {
    readonly first: string;
    readonly use: string;
    readonly changes: number;
    readonly values: readonly { readonly value: string; readonly at: number }[];
  };
  readonly groupFlags: readonly boolean[];
  readonly isColourFrame: boolean;
  readonly evenShare: number;
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
