// What a DV stream says of its sound, as documents carry it (docs/json.md, "carrier"). Shapes only.
// Frames are those of the tape, counted from 0 in the stretch that is read.
import type { LabelFacts } from '../framed/label-runs.ts';

export interface DvFacts {
  readonly kind: 'dv';
  readonly system: '525/60' | '625/50';
  /** by the header: "IEC 61834", "SMPTE 314M" */
  readonly application: string;
  /** two in 50 Mb/s streams */
  readonly difChannels: number;
  readonly rateHz: number;
  readonly word: 16 | 12;
  /** of four-channel sound: the second pair was recorded in some frame */
  readonly hasSecondPair: boolean;
  /** frames of the file before the stretch */
  readonly firstFrame: number;
  readonly tapeFrames: number;
  /** frames that say how many samples they have */
  readonly framesWithSound: number;
  readonly samplesPerFrame: { readonly fewest: number; readonly most: number } | null;
  readonly trueRate: DvTrueRate | null;
  readonly flags: DvFlags;
  readonly timecode: LabelFacts;
  readonly recordings: DvRecordings;
  /** per channel, per track of a frame: samples lost, by error code or for want of data */
  readonly lostByTrack: readonly (readonly number[])[];
}

/** Samples over frames, exact against the clock of the picture; the error of that clock cannot be seen from here. */
export interface DvTrueRate {
  readonly num: number;
  readonly den: number;
  /** from the nominal rate */
  readonly ppm: number;
  readonly uncertaintyPpm: number;
}

/** Numbers of frames. A flag that changes along the tape has two numbers above zero. */
export interface DvFlags {
  readonly clock: 'locked' | 'unlocked' | 'changes' | 'not said';
  readonly lockedFrames: number;
  readonly unlockedFrames: number;
  /** with emphasis on, in the first and second audio block */
  readonly emphasisFrames: readonly [number, number];
  readonly copy: Readonly<Record<string, number>>;
  readonly otherSpeedFrames: number;
  readonly reverseFrames: number;
  readonly recordingEndFrames: number;
  readonly framesWithoutControl: number;
}

export interface DvRecordings {
  readonly list: readonly {
    readonly firstFrame: number;
    readonly frames: number;
    readonly date: string | null;
    readonly time: string | null;
    /** why a recording is taken to begin here: the stream begins, the tape's flag, a jump of the tape's clock */
    readonly beganBy: 'stream' | 'flag' | 'clock';
  }[];
  readonly more: number;
}
