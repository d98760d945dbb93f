// One frame of a DAT as a computer drive hands it over: where sound, packs, sub-ID and main ID lie, and what their bits say. Bits to
// plain data; no file is read here. Source: R23 R25 (manual page of the frame format and the parsers built on it), formats sheet 5.4,
// certainty T; the order of the bits of the sub-ID is that of R23's parsers.

export const FRAME_BYTES = 5822;
/** bytes of sound; 5292 of them are used at 44.1 kHz, 3840 at 32 kHz */
export const SOUND_BYTES = 5760;
export const PACKS = 7;
export const PACK_BYTES = 8;
export const SUB_ID_AT = SOUND_BYTES + PACKS * PACK_BYTES;
export const MAIN_ID_AT = SUB_ID_AT + 4;

export type DatRateHz = 48_000 | 44_100 | 32_000;
const RATES: readonly DatRateHz[] = [48_000, 44_100, 32_000];
/** samples of a channel in a frame of 30 ms */
export const DAT_SAMPLES: Readonly<Record<DatRateHz, number>> = { 48000: 1440, 44100: 1323, 32000: 960 };

export interface DatMainId {
  readonly rateHz: DatRateHz;
  readonly channels: 2 | 4;
  readonly word: 16 | 12;
  readonly isEmphasised: boolean;
  readonly isWideTrack: boolean;
  /** 0 allowed, 2 prohibited, 3 one generation */
  readonly copy: number;
}

/** `at`: the first byte of the frame. Undefined where the bits are none that a recorder of sound writes. */
export function parseMainId(bytes: Uint8Array, at: number): DatMainId | undefined {
  const [first, second] = [bytes[at + MAIN_ID_AT], bytes[at + MAIN_ID_AT + 1]];
  const rateHz = RATES[(first >> 2) & 3];
  const [format, emphasis, channels] = [first >> 6, (first >> 4) & 3, first & 3];
  const [word, pitch, copy] = [second >> 6, (second >> 4) & 3, (second >> 2) & 3];
  if (format !== 0 || emphasis > 1 || rateHz === undefined || channels > 1 || word > 1 || pitch > 1) return undefined;
  return {
    rateHz,
    channels: channels === 0 ? 2 : 4,
    word: word === 0 ? 16 : 12,
    isEmphasised: emphasis === 1,
    isWideTrack: pitch === 1,
    copy,
  };
}

export interface DatSubId {
  readonly isPriority: boolean;
  readonly isStart: boolean;
  readonly isSkip: boolean;
  /** 1 to 799, "lead-in", "lead-out"; undefined where not known */
  readonly programme: number | 'lead-in' | 'lead-out' | undefined;
  /** the drive estimated samples of this frame */
  readonly isLeftInterpolated: boolean;
  readonly isRightInterpolated: boolean;
}

export function parseSubId(bytes: Uint8Array, at: number): DatSubId {
  const [control, first, rest, flags] = bytes.subarray(at + SUB_ID_AT, at + SUB_ID_AT + 4);
  return {
    isPriority: (control & 0x80) !== 0,
    isStart: (control & 0x40) !== 0,
    isSkip: (control & 0x20) !== 0,
    programme: programmeOf(first >> 4, rest),
    isLeftInterpolated: (flags & 0x40) !== 0,
    isRightInterpolated: (flags & 0x80) !== 0,
  };
}

function programmeOf(hundreds: number, rest: number): DatSubId['programme'] {
  const number = (hundreds << 8) | rest;
  if (number === 0x0bb) return 'lead-in';
  if (number === 0x0ee) return 'lead-out';
  const [tens, units] = [rest >> 4, rest & 15];
  if (hundreds > 7 || tens > 9 || units > 9 || number === 0) return undefined;
  return 100 * hundreds + 10 * tens + units;
}

export type PackState = 'good' | 'empty' | 'bad';

/** By its parity: all eight bytes together are zero. */
export function packState(bytes: Uint8Array, at: number): PackState {
  let parity = 0;
  let any = 0;
  for (let i = 0; i < PACK_BYTES; i++) {
    parity ^= bytes[at + i];
    any |= bytes[at + i];
  }
  if (parity !== 0) return 'bad';
  return any === 0 || bytes[at] >> 4 === 0 ? 'empty' : 'good';
}

/**
 * Whether a frame can begin at byte `at`: the main ID is possible and most packs have their parity. `isSure` needs a pack that says
 * something, because zeros fit everywhere.
 */
export function isDatFrame(bytes: Uint8Array, at: number): { readonly isPossible: boolean; readonly isSure: boolean } {
  if (at + FRAME_BYTES > bytes.length || !parseMainId(bytes, at) || (bytes[at + SUB_ID_AT] & 15) !== 0)
    return { isPossible: false, isSure: false };
  const states = Array.from({ length: PACKS }, (_, i) => packState(bytes, at + SOUND_BYTES + i * PACK_BYTES));
  const bad = states.filter((state) => state === 'bad').length;
  return { isPossible: bad <= 2, isSure: bad <= 2 && states.filter((state) => state === 'good').length > bad };
}
