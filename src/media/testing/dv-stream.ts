// Writes DIF streams whose every sample, pack and flag the test chose: both systems, 16 and 12 bit, any number of samples a frame.
// Places samples by walking blocks (the inverse rule of formats sheet 4.3), not as the reader does. The picture is grey: zeros.
// Knows nothing of the reader's tables.

export interface DvTape {
  readonly lines: 525 | 625;
  readonly rateHz: 48_000 | 44_100 | 32_000;
  readonly word: 16 | 12;
  /** two planes of 16-bit samples, or four of 12-bit codes (-2048 .. 2047) */
  readonly planes: readonly Int32Array[];
  /** samples of each frame */
  readonly counts: readonly number[];
  /** how many samples more (or fewer) the second half of a frame has */
  readonly secondDelta?: (frame: number) => number;
  readonly isUnlocked?: boolean;
  readonly isEmphasised?: boolean;
  /** APT 1: emphasis is told in the control pack then */
  readonly is314M?: boolean;
  /** CGMS bits */
  readonly copy?: number;
  /** mode nibble of the second audio block; 15: nothing recorded */
  readonly secondMode?: number;
  /** frame number of the first frame for the time code, or the number of every frame; no time code when left out */
  readonly timecode?: number | ((frame: number) => number);
  readonly isDropFrame?: boolean;
  /** seconds since the year 2000 at each frame, for date and time packs */
  readonly recordedAt?: (frame: number) => number;
  /** frames where a recording begins */
  readonly recordingStarts?: readonly number[];
  readonly speed?: number;
  readonly isReverse?: boolean;
}

const FEWEST = {
  525: { 48000: 1580, 44100: 1452, 32000: 1053 },
  625: { 48000: 1896, 44100: 1742, 32000: 1264 },
} as const;

export function dvStream(tape: DvTape): Buffer {
  let start = 0;
  const frames = tape.counts.map((count, f) => {
    const frame = dvFrame(tape, f, start, count);
    start += count;
    return frame;
  });
  return Buffer.concat(frames);
}

export function frameBytes(lines: 525 | 625): number {
  return lines === 525 ? 120_000 : 144_000;
}

/** Byte of the frame at which audio block k of a sequence begins. */
export function blockAt(sequence: number, k: number): number {
  return (150 * sequence + 6 + 16 * k) * 80;
}

function dvFrame(tape: DvTape, f: number, start: number, count: number): Buffer {
  const sequences = tape.lines === 525 ? 10 : 12;
  const frame = Buffer.alloc(frameBytes(tape.lines));
  for (let s = 0; s < sequences; s++) {
    writeSection(frame, tape, s);
    for (let block = 1; block <= 2; block++) writeSubcode(frame, tape, s, block, f);
    for (let k = 0; k < 9; k++) writeAudio(frame, tape, { s, k, f, start, count });
  }
  return frame;
}

function writeSection(frame: Buffer, { lines, is314M }: DvTape, s: number): void {
  const identity = (block: number, type: number, number: number) => {
    const at = (150 * s + block) * 80;
    frame.fill(0xff, at, at + 80);
    frame.set([(type << 5) | 0x1f, (s << 4) | 7, number], at);
  };
  identity(0, 0, 0);
  const application = is314M ? 0x79 : 0x78;
  frame.set([lines === 525 ? 0x3f : 0xbf, application, 0x78, 0x78, 0x78], 150 * s * 80 + 3);
  for (let i = 0; i < 2; i++) identity(1 + i, 1, i);
  for (let i = 0; i < 3; i++) identity(3 + i, 2, i);
  for (let i = 0, video = 0; i < 144; i++) {
    if (i % 16 === 0) identity(6 + i, 3, i / 16);
    else {
      identity(6 + i, 4, video++);
      frame.fill(0, (150 * s + 6 + i) * 80 + 3, (150 * s + 7 + i) * 80);
    }
  }
}

function writeSubcode(frame: Buffer, tape: DvTape, s: number, block: number, f: number): void {
  const sequences = tape.lines === 525 ? 10 : 12;
  const code = timecodePack(tape, f);
  const isLate = s >= sequences / 2;
  for (let i = 0; i < 6; i++) {
    const at = (150 * s + block) * 80 + 3 + 8 * i;
    const pack =
      isLate && i % 3 === 1 ? datePack(tape, f, 0x62) : isLate && i % 3 === 2 ? timePack(tape, f, 0x63) : code;
    if (pack) frame.set(pack, at + 3);
  }
}

const bcd = (value: number): number => (Math.floor(value / 10) << 4) | (value % 10);

function timecodePack({ lines, timecode, isDropFrame }: DvTape, f: number): number[] | undefined {
  if (timecode === undefined) return undefined;
  const rate = lines === 525 ? 30 : 25;
  const number = typeof timecode === 'number' ? timecode + f : timecode(f);
  const counted = isDropFrame ? withDropped(number) : number;
  const seconds = Math.floor(counted / rate);
  const drop = isDropFrame ? 0x40 : 0;
  return [
    0x13,
    drop | bcd(counted % rate),
    bcd(seconds % 60),
    bcd(Math.floor(seconds / 60) % 60),
    bcd(Math.floor(seconds / 3600) % 24),
  ];
}

/** Two numbers are left out at every minute but each tenth (SMPTE 12M). */
function withDropped(number: number): number {
  const tens = Math.floor(number / 17_982);
  const rest = number % 17_982;
  return number + 18 * tens + 2 * Math.max(0, Math.floor((rest - 2) / 1798));
}

function datePack({ recordedAt }: DvTape, f: number, id: number): number[] | undefined {
  if (!recordedAt) return undefined;
  const date = new Date(Date.UTC(2000, 0, 1) + 1000 * recordedAt(f));
  const [day, month, year] = [date.getUTCDate(), date.getUTCMonth() + 1, date.getUTCFullYear() % 100];
  return [id, 0xff, 0xc0 | bcd(day), 0xe0 | bcd(month), bcd(year)];
}

function timePack({ recordedAt }: DvTape, f: number, id: number): number[] | undefined {
  if (!recordedAt) return undefined;
  const date = new Date(Date.UTC(2000, 0, 1) + 1000 * recordedAt(f));
  return [id, 0xff, 0x80 | bcd(date.getUTCSeconds()), 0x80 | bcd(date.getUTCMinutes()), 0xc0 | bcd(date.getUTCHours())];
}

interface AudioPlace {
  readonly s: number;
  readonly k: number;
  readonly f: number;
  readonly start: number;
  readonly count: number;
}

function writeAudio(frame: Buffer, tape: DvTape, { s, k, f, start, count }: AudioPlace): void {
  const half = tape.lines === 525 ? 5 : 6;
  const isSecond = s >= half;
  const at = blockAt(s, k);
  const pack = packFor(tape, s, k, f, count + (isSecond ? (tape.secondDelta?.(f) ?? 0) : 0));
  if (pack) frame.set(pack, at + 3);
  const within = isSecond ? s - half : s;
  const column = (((within - 2 * Math.floor(k / 3)) % half) + half) % half;
  const first = 3 * ((k % 3) * half + column) + Math.floor(k / 3);
  for (let n = first, j = 0; n < count; n += 9 * half, j++) {
    if (tape.word === 16) frame.writeInt16BE(tape.planes[isSecond ? 1 : 0][start + n], at + 8 + 2 * j);
    else {
      const y = tape.planes[isSecond ? 2 : 0][start + n] & 0xfff;
      const z = tape.planes[isSecond ? 3 : 1][start + n] & 0xfff;
      frame.set([y >> 4, z >> 4, ((y & 15) << 4) | (z & 15)], at + 8 + 3 * j);
    }
  }
}

function packFor(tape: DvTape, s: number, k: number, f: number, count: number): number[] | undefined {
  const order = k - (s % 2 === 0 ? 3 : 0);
  if (order === 0) return sourcePack(tape, s, count);
  if (order === 1) return controlPack(tape, f);
  return undefined;
}

export function sourcePack(tape: DvTape, s: number, count: number): number[] {
  const { lines, rateHz, word, isUnlocked, isEmphasised, is314M, secondMode } = tape;
  const isSecond = s >= (lines === 525 ? 5 : 6);
  const mode = isSecond ? (secondMode ?? (word === 12 ? 2 : 1)) : 0;
  const channels = word === 12 ? 0x20 : 0;
  const smp = { 48000: 0, 44100: 1, 32000: 2 }[rateHz];
  return [
    0x50,
    (isUnlocked ? 0x80 : 0) | 0x40 | (count - FEWEST[lines][rateHz]),
    (is314M ? 0x10 : 0) | channels | mode,
    0xc0 | (lines === 625 ? 0x20 : 0),
    (isEmphasised && !is314M ? 0 : 0x80) | 0x40 | (smp << 3) | (word === 12 ? 1 : 0),
  ];
}

function controlPack(tape: DvTape, f: number): number[] {
  const { copy = 0, is314M, isEmphasised, recordingStarts = [], isReverse, lines } = tape;
  const speed = tape.speed ?? (is314M ? (lines === 525 ? 0x78 : 0x64) : 0x20);
  const low = is314M ? 0x3c | (isEmphasised ? 1 : 0) : 0x3f;
  const start = recordingStarts.includes(f) ? 0 : 0x80;
  return [0x51, (copy << 6) | low, start | 0x4f, (isReverse ? 0 : 0x80) | speed, 0xff];
}

/** Counts of frames whose clock gives `mean` samples a frame on average. */
export function countsOf(frames: number, mean: number): number[] {
  return Array.from({ length: frames }, (_, f) => Math.floor((f + 1) * mean) - Math.floor(f * mean));
}

export function total(counts: readonly number[]): number {
  return counts.reduce((sum, count) => sum + count, 0);
}
