// Writes DAT frame dumps whose every sample, pack and flag the test chose (formats sheet 5.4). Knows nothing of the reader.

export interface DatTape {
  readonly rateHz: 48_000 | 44_100 | 32_000;
  /** left, right; whole frames */
  readonly planes: readonly Int32Array[];
  readonly isEmphasised?: boolean;
  readonly copy?: number;
  /** main ID bits of channels and quantisation, to make what cannot be read */
  readonly isFourChannel?: boolean;
  readonly is12Bit?: boolean;
  /** programme number of a frame; 0: unknown */
  readonly programme?: (frame: number) => number;
  /** frames with the start ID set */
  readonly isStart?: (frame: number) => boolean;
  /** absolute time in frames; undefined: no such pack */
  readonly absolute?: (frame: number) => number | undefined;
  readonly interpolated?: (frame: number) => { left: boolean; right: boolean };
  /** seconds since 2000 */
  readonly recordedAt?: number;
}

export const DAT_FRAME = 5822;
const SAMPLES = { 48000: 1440, 44100: 1323, 32000: 960 } as const;

export function datFrames(tape: DatTape): Buffer {
  const samples = SAMPLES[tape.rateHz];
  const frames = tape.planes[0].length / samples;
  const bytes = Buffer.alloc(frames * DAT_FRAME);
  for (let f = 0; f < frames; f++) {
    const at = f * DAT_FRAME;
    for (let n = 0; n < samples; n++)
      for (let c = 0; c < 2; c++) bytes.writeInt16LE(tape.planes[c][f * samples + n], at + 4 * n + 2 * c);
    packsOf(tape, f).forEach((pack, i) => {
      bytes.set(withParity(pack), at + 5760 + 8 * i);
    });
    bytes.set(subId(tape, f), at + 5816);
    bytes.set(mainId(tape), at + 5820);
  }
  return bytes;
}

const bcd = (value: number): number => (Math.floor(value / 10) << 4) | (value % 10);

/** 100 frames are three seconds: 33, 33 and 34. */
function timeBytes(frames: number): number[] {
  const rest = frames % 100;
  const second = Math.min(2, Math.floor(rest / 33));
  const seconds = 3 * Math.floor(frames / 100) + second;
  return [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60, rest - 33 * second].map(bcd);
}

function packsOf({ absolute, programme, recordedAt }: DatTape, f: number): number[][] {
  const packs: number[][] = [];
  const number = programme?.(f) ?? 0;
  const pno = number === 0 ? [0, 0xaa] : [Math.floor(number / 100), bcd(number % 100)];
  const at = absolute?.(f);
  if (at !== undefined) packs.push([(2 << 4) | pno[0], pno[1], 0x01, ...timeBytes(at)]);
  if (recordedAt !== undefined) {
    const date = new Date(Date.UTC(2000, 0, 1) + 1000 * recordedAt);
    const parts = [date.getUTCFullYear() % 100, date.getUTCMonth() + 1, date.getUTCDate()];
    packs.push([(5 << 4) | 1, ...[...parts, date.getUTCHours(), date.getUTCMinutes(), date.getUTCSeconds()].map(bcd)]);
  }
  return packs;
}

function withParity(pack: readonly number[]): number[] {
  return [...pack, pack.reduce((parity, byte) => parity ^ byte, 0)];
}

function subId({ programme, isStart, interpolated, absolute, recordedAt }: DatTape, f: number): number[] {
  const number = programme?.(f) ?? 0;
  const packs = (absolute?.(f) === undefined ? 0 : 1) + (recordedAt === undefined ? 0 : 1);
  const pno = number === 0 ? [0, 0xaa] : [Math.floor(number / 100), bcd(number % 100)];
  const flags = interpolated?.(f);
  return [isStart?.(f) ? 0x40 : 0, (pno[0] << 4) | packs, pno[1], (flags?.left ? 0x40 : 0) | (flags?.right ? 0x80 : 0)];
}

function mainId({ rateHz, isEmphasised, copy = 0, isFourChannel, is12Bit }: DatTape): number[] {
  const fs = { 48000: 0, 44100: 1, 32000: 2 }[rateHz];
  return [(isEmphasised ? 0x10 : 0) | (fs << 2) | (isFourChannel ? 1 : 0), (is12Bit ? 0x40 : 0) | (copy << 2)];
}
