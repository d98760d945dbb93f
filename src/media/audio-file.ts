// What an opened audio file tells and can do, whatever its container. Shapes only; the readers are in pcm-file, flac-file,
// take-file, dv/ and dat/.
import type { Block, FrameInfo, FrameSource, Problem, StopSignal } from '../base/index.ts';
import type { Bext } from './bext.ts';
import type { CarrierReport } from './carrier.ts';

export interface MediaInfo extends FrameInfo {
  readonly container:
    | 'wave'
    | 'rf64'
    | 'bw64'
    | 'w64'
    | 'aiff'
    | 'aifc'
    | 'caf'
    | 'flac'
    | 'raw'
    | 'dv'
    | 'dv-avi'
    | 'dv-quicktime'
    | 'dat-frames';
  /** width of the integers in the blocks, like `bits`: the stored width unless `justification` or `encoding` says why not */
  readonly containerBits: number;
  /** bits per sample that the header claims to be valid; what was measured may differ */
  readonly headerBits: number;
  /** `partial` when audio that the file or its header promises is missing, damaged or was not read */
  readonly readAs: 'whole' | 'partial';
  readonly problems: readonly Problem[];
  readonly fileBytes: number;
  /** how samples are stored, e.g. "s24le", "u8", "f32le"; undefined for FLAC */
  readonly encoding?: string;
  /**
   * Only where the header calls fewer bits valid than are stored: where the samples stand, by the samples themselves.
   * `left` and `undecided` samples are delivered over the whole container, `right` ones as integers of the valid bits.
   */
  readonly justification?: 'left' | 'right' | 'undecided';
  readonly bext?: Bext;
  /** the files of a take that is read as one, in order */
  readonly parts?: readonly TakePart[];
  /** between the parts: one fewer */
  readonly joints?: readonly TakeJoint[];
}

/** One file of a take. */
export interface TakePart {
  readonly path: string;
  readonly container: string;
  /** position of its first frame in the take */
  readonly start: number;
  readonly frames: number;
  readonly fileBytes: number;
}

export interface JointEvidence {
  readonly kind: 'time-reference' | 'name' | 'size' | 'continuity';
  readonly says: 'joined' | 'apart' | 'nothing';
  readonly detail: string;
}

/** What speaks for and against `after` being the continuation of `before`. */
export interface TakeJoint {
  readonly before: string;
  readonly after: string;
  readonly evidence: readonly JointEvidence[];
  /** by the time references: frames missing between the two, negative where they overlap; undefined when they say nothing */
  readonly gapFrames?: number;
  /** 0 to 1; 0 when nothing speaks for the joint or something forbids it */
  readonly confidence: number;
  /** nothing but the name speaks for the joint */
  readonly isNameOnly: boolean;
}

/**
 * `file`: all bytes of the file. `audio`: the interleaved samples of all frames, as a WAVE data chunk would hold them:
 * little-endian, 8 bit and below offset by 128, wider ones signed; odd FLAC depths sign-extended to whole bytes.
 * So the same samples give the same audio digest from WAVE and FLAC, unless WAVE left-justifies an odd depth.
 */
export interface Digests {
  readonly file: { readonly sha256: string };
  readonly audio: { readonly sha256: string };
  /** for a take of several files: each file's own digest; `file` is then that of all their bytes one after the other */
  readonly parts?: readonly { readonly path: string; readonly sha256: string }[];
}

/** Where a pass puts what it reads. */
export interface PassPlace {
  /** For the next block, at least so many frames. */
  planes(channels: number, frames: number): Promise<readonly Int32Array[]>;
  /** For the bytes of the file, in memory that threads share; asked for once for each buffer. */
  bytes(length: number): Uint8Array;
}

export interface PassOptions {
  readonly blockFrames?: number;
  readonly stop?: StopSignal | undefined;
  readonly onBytes?: ((done: number, total: number) => void) | undefined;
  /** its own memory when left out */
  readonly place?: PassPlace | undefined;
  /** Sees the very bytes of both digests, for digests over several files. */
  readonly watch?: { file(bytes: Uint8Array): void; audio(bytes: Uint8Array): void } | undefined;
}

export interface Pass {
  /** may be iterated once */
  readonly blocks: AsyncIterable<Block>;
  /** Throws a plain Error while the iteration has not reached the end. */
  digests(): Digests;
  /** `info.problems` and those that only reading can find, such as a wrong MD5; complete after the iteration */
  problems(): readonly Problem[];
  /** Only where the file is an image of the tape itself: what it says besides samples. Undefined until the iteration has ended. */
  carrier?(): CarrierReport | undefined;
}

export interface AudioFile extends FrameSource {
  readonly info: MediaInfo;
  /** One read of the whole file: every block in order and both digests from the same bytes. */
  pass(options?: PassOptions): Pass;
  /** Safe to call more than once. */
  close(): Promise<void>;
}
