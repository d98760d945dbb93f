// How many frames of a stream say what of their sound: clock, emphasis, copying, speed. Counts, so that a change along the tape shows
// as two numbers that are not zero.
import { type AudioControl, type AudioSource, CONTROL_PACK, parseControl, parseSource, SOURCE_PACK } from './aaux.ts';
import type { DvSystem } from './dif-system.ts';
import type { DvFlags } from './dv-facts.ts';
import { CONTROL, type PackVote, SOURCE } from './pack-vote.ts';

/** Normal forward play by the speed code: IEC 61834, SMPTE 314M in 525 and in 625 (R19 R20, S). */
const NORMAL_SPEED = 0x20;
const NORMAL_SPEED_314M = { '525/60': 0x78, '625/50': 0x64 } as const;
const COPY_WORDS = ['free', 'unused-code', 'one-generation', 'none'] as const;

export interface FrameFlags {
  readonly isRecordingStart: boolean;
  readonly isRecordingEnd: boolean;
  /** false also where the frame does not say */
  readonly isOtherSpeed: boolean;
}

export class FlagCounts {
  readonly #system: DvSystem;
  readonly #counts = { locked: 0, unlocked: 0, otherSpeed: 0, reverse: 0, silent: 0, recordingEnds: 0 };
  /** frames with emphasis on, in each half */
  readonly #emphasis: [number, number] = [0, 0];
  readonly #copy = new Map<string, number>();

  constructor(system: DvSystem) {
    this.#system = system;
  }

  /** `application`: APT of the header; it says where emphasis is told. */
  add(packs: PackVote, application: number): FrameFlags {
    const sources = SOURCE.map((slot) => sourceOf(packs.winner(slot)));
    const controls = CONTROL.map((slot) => controlOf(packs.winner(slot)));
    const [source] = sources;
    const control = controls[0] ?? controls[1];
    if (source) this.#counts[source.isLocked ? 'locked' : 'unlocked']++;
    for (let half = 0; half < 2; half++)
      if (isEmphasised(sources[half], controls[half], application)) this.#emphasis[half]++;
    if (!control) {
      this.#counts.silent++;
      return { isRecordingStart: false, isRecordingEnd: false, isOtherSpeed: false };
    }
    this.#count(COPY_WORDS[control.copy]);
    if (!control.isForward) this.#counts.reverse++;
    if (control.isRecordingEnd) this.#counts.recordingEnds++;
    const isOtherSpeed = !control.isForward || !this.#isNormal(control.speed);
    if (isOtherSpeed) this.#counts.otherSpeed++;
    const { isRecordingStart, isRecordingEnd } = control;
    return { isRecordingStart, isRecordingEnd, isOtherSpeed };
  }

  facts(): DvFlags {
    const { locked, unlocked, otherSpeed, reverse, silent, recordingEnds } = this.#counts;
    return {
      lockedFrames: locked,
      unlockedFrames: unlocked,
      clock: locked === 0 ? (unlocked === 0 ? 'not said' : 'unlocked') : unlocked === 0 ? 'locked' : 'changes',
      emphasisFrames: [this.#emphasis[0], this.#emphasis[1]],
      copy: Object.fromEntries(this.#copy),
      otherSpeedFrames: otherSpeed,
      reverseFrames: reverse,
      recordingEndFrames: recordingEnds,
      framesWithoutControl: silent,
    };
  }

  get otherSpeed(): number {
    return this.#counts.otherSpeed;
  }

  #isNormal(speed: number): boolean {
    return speed === NORMAL_SPEED || speed === NORMAL_SPEED_314M[this.#system.id];
  }

  #count(word: string): void {
    this.#copy.set(word, (this.#copy.get(word) ?? 0) + 1);
  }
}

function sourceOf(pack: number | undefined): AudioSource | undefined {
  return pack === undefined ? undefined : parseSource(packBytes(SOURCE_PACK, pack), 0);
}

function controlOf(pack: number | undefined): AudioControl | undefined {
  return pack === undefined ? undefined : parseControl(packBytes(CONTROL_PACK, pack), 0);
}

function packBytes(id: number, pack: number): Uint8Array {
  return Uint8Array.of(id, pack >>> 24, (pack >>> 16) & 0xff, (pack >>> 8) & 0xff, pack & 0xff);
}

function isEmphasised(
  source: AudioSource | undefined,
  control: AudioControl | undefined,
  application: number,
): boolean {
  return application === 0 ? source?.isEmphasised === true : control?.isEmphasised === true;
}
