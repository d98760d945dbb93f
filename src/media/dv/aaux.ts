// The auxiliary packs of DV sound: source (how it was sampled) and source control (copying, editing, speed). Bits to plain data.
// Source: R19 R20, formats sheet 4.5, certainty S. What contradicts itself is no pack.
import type { DvRateHz, DvSystem } from './dif-system.ts';

export const SOURCE_PACK = 0x50;
export const CONTROL_PACK = 0x51;
/** bytes of an audio block before its auxiliary pack */
export const AAUX_AT = 3;

export interface AudioSource {
  readonly isLocked: boolean;
  /** AF_SIZE: samples beyond the fewest of the mode */
  readonly extra: number;
  /** AUDIO MODE; 15: nothing recorded */
  readonly mode: number;
  readonly is50Fields: boolean;
  /** STYPE: 0 two audio blocks a frame, 2 four, 3 eight */
  readonly kind: number;
  /** EF, of IEC 61834 only: SMPTE 314M has it in the control pack */
  readonly isEmphasised: boolean;
  readonly rateHz: DvRateHz;
  readonly word: 16 | 12 | 20;
}

export interface AudioControl {
  /** CGMS: 0 free, 2 one generation, 3 none */
  readonly copy: number;
  /** EFC, of SMPTE 314M only */
  readonly isEmphasised: boolean;
  readonly isRecordingStart: boolean;
  readonly isRecordingEnd: boolean;
  readonly isForward: boolean;
  /** 7 bits; 0x20 is normal play in IEC 61834, 0x78 (525) or 0x64 (625) in SMPTE 314M */
  readonly speed: number;
}

const RATES: readonly DvRateHz[] = [48_000, 44_100, 32_000];
const WORDS = [16, 12, 20] as const;
export const NOTHING_RECORDED = 15;

/** `at`: the first byte of the pack. Undefined where there is none, or one that no recorder writes. */
export function parseSource(bytes: Uint8Array, at: number): AudioSource | undefined {
  if (bytes[at] !== SOURCE_PACK || at + 5 > bytes.length) return undefined;
  const [, pc1, pc2, pc3, pc4] = bytes.subarray(at, at + 5);
  const rateHz = RATES[(pc4 >> 3) & 7];
  const word = WORDS[pc4 & 7];
  if (rateHz === undefined || word === undefined || (word === 12 && rateHz !== 32_000)) return undefined;
  return {
    isLocked: pc1 >> 7 === 0,
    extra: pc1 & 0x3f,
    mode: pc2 & 15,
    is50Fields: (pc3 & 0x20) !== 0,
    kind: pc3 & 0x1f,
    isEmphasised: pc4 >> 7 === 0,
    rateHz,
    word,
  };
}

export function parseControl(bytes: Uint8Array, at: number): AudioControl | undefined {
  if (bytes[at] !== CONTROL_PACK || at + 5 > bytes.length) return undefined;
  const [, pc1, pc2, pc3] = bytes.subarray(at, at + 5);
  return {
    copy: pc1 >> 6,
    isEmphasised: (pc1 & 3) === 1,
    isRecordingStart: pc2 >> 7 === 0,
    isRecordingEnd: ((pc2 >> 6) & 1) === 0,
    isForward: pc3 >> 7 === 1,
    speed: pc3 & 0x7f,
  };
}

/** Undefined where the count is beyond what the system allows. */
export function samplesOf(source: AudioSource, system: DvSystem): number | undefined {
  const samples = system.fewest[source.rateHz] + source.extra;
  return samples <= system.most[source.rateHz] ? samples : undefined;
}

/** Number of the audio block that holds the source pack in a sequence; the control, date and time packs follow it. */
export function sourceBlockOf(sequence: number): number {
  return sequence % 2 === 0 ? 3 : 0;
}
