// The `fmt ` chunk: integer or float PCM, plain or extensible, what it claims and where it contradicts itself.
// Contradictions of the block alignment are settled here because every later byte count rests on them.
import { type Problem, TapeproofError } from '../base/index.ts';
import type { PcmEncoding } from './pcm-encoding.ts';

export interface WaveFormat {
  readonly channels: number;
  readonly rateHz: number;
  readonly encoding: PcmEncoding;
  /** valid bits by the header */
  readonly validBits: number;
  readonly frameBytes: number;
  readonly isExtensible: boolean;
  readonly problems: readonly Problem[];
}

const TAG_PCM = 0x0001;
const TAG_FLOAT = 0x0003;
const TAG_EXTENSIBLE = 0xfffe;
/** The tail of every SubFormat that merely wraps a format tag: 0000-0010-8000-00AA00389B71, in file order. */
const SUBFORMAT_TAIL = '000000001000800000aa00389b71';
export const FORMAT_MOST_BYTES = 64;

/** `body` begins at byte `offset` of `path`. Throws `input` or `unsupported`. */
export function parseWaveFormat(body: Uint8Array, path: string, offset: number): WaveFormat {
  if (body.length < 16) throw bad(path, offset, 'the format chunk is too short', '16 bytes', `${body.length} bytes`);
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const tag = view.getUint16(0, true);
  const isExtensible = tag === TAG_EXTENSIBLE;
  const kind = kindOf(isExtensible ? subFormatTag(body, path, offset) : tag, path, offset);
  const channels = view.getUint16(2, true);
  if (channels === 0) throw bad(path, offset + 2, 'the header says zero channels', '1 or more', '0');
  const rateHz = view.getUint32(4, true);
  if (rateHz === 0) throw bad(path, offset + 4, 'the header says a sampling rate of zero', '1 Hz or more', '0');
  const bits = view.getUint16(14, true);
  if (!isWidth(kind, bits)) throw wordLength(path, offset + 14, kind, bits);
  const problems: Problem[] = [];
  const containerBytes = settleContainer(channels, bits, view.getUint16(12, true), offset, problems);
  const frameBytes = channels * containerBytes;
  checkByteRate(view.getUint32(8, true), rateHz * frameBytes, offset, problems);
  const isClaiming = isExtensible && kind === 'integer';
  const validBits = isClaiming ? claimedValid(view.getUint16(18, true), bits, offset, problems) : bits;
  const encoding = { kind, bits: containerBytes * 8, endian: 'little', isSigned: containerBytes > 1 } as PcmEncoding;
  return { channels, rateHz, encoding, validBits, frameBytes, isExtensible, problems };
}

function isWidth(kind: PcmEncoding['kind'], bits: number): boolean {
  return kind === 'float' ? bits === 32 || bits === 64 : bits >= 1 && bits <= 32;
}

function bad(path: string, offset: number, message: string, expected: string, found: string): TapeproofError {
  const next = 'capture again, or repair the header in a copy of the file';
  return new TapeproofError('input', message, { path, offset, expected, found, next });
}

function wordLength(path: string, offset: number, kind: PcmEncoding['kind'], bits: number): TapeproofError {
  const expected = kind === 'float' ? '32 or 64 bits' : '1 to 32 bits';
  return new TapeproofError('unsupported', 'word length of the samples', { path, offset, expected, found: `${bits}` });
}

function subFormatTag(body: Uint8Array, path: string, offset: number): number {
  if (body.length < 40)
    throw bad(path, offset, 'the extensible format chunk is too short', '40 bytes', `${body.length} bytes`);
  const tail = Buffer.from(body.subarray(26, 40)).toString('hex');
  if (tail !== SUBFORMAT_TAIL) {
    const detail = { path, offset: offset + 24, expected: 'integer PCM', found: `sub-format ending in ${tail}` };
    throw new TapeproofError('unsupported', 'an unknown kind of samples', detail);
  }
  return body[24] | (body[25] << 8);
}

function kindOf(tag: number, path: string, offset: number): PcmEncoding['kind'] {
  if (tag === TAG_PCM) return 'integer';
  if (tag === TAG_FLOAT) return 'float';
  throw new TapeproofError('unsupported', 'only uncompressed samples are read', {
    path,
    offset,
    expected: 'PCM (format tag 1 or 3, alone or inside an extensible header)',
    found: `format tag 0x${tag.toString(16).padStart(4, '0')}`,
    next: 'give the file as the recorder wrote it; a digital copy of a tape is never compressed',
  });
}

/** Bytes per stored sample. blockAlign decides where it makes sense at all; otherwise channels and bits do. */
function settleContainer(channels: number, bits: number, blockAlign: number, offset: number, problems: Problem[]) {
  const least = Math.ceil(bits / 8);
  const perSample = blockAlign / channels;
  if (perSample === least) return least;
  const isUsable = Number.isInteger(perSample) && perSample > least && perSample <= 4;
  problems.push({
    id: isUsable ? 'container-wider' : 'blockalign-contradiction',
    severity: isUsable ? 'note' : 'warning',
    message: isUsable
      ? `samples of ${bits} bits are stored in ${perSample * 8} bits`
      : 'block alignment contradicts channels and bits per sample; channels and bits were trusted',
    offset: offset + 12,
    expected: `${channels * least} bytes per frame`,
    found: `${blockAlign}`,
  });
  return isUsable ? perSample : least;
}

function checkByteRate(claimed: number, actual: number, offset: number, problems: Problem[]): void {
  if (claimed === actual) return;
  const message = 'bytes per second contradict rate and frame size; not used for reading';
  const place = { offset: offset + 8, expected: `${actual}`, found: `${claimed}` };
  problems.push({ id: 'byterate-wrong', severity: 'note', message, ...place });
}

function claimedValid(valid: number, bits: number, offset: number, problems: Problem[]): number {
  if (valid >= 1 && valid <= bits) return valid;
  const message = 'the number of valid bits is impossible; the whole container is taken as valid';
  const place = { offset: offset + 18, expected: `1 to ${bits}`, found: `${valid}` };
  problems.push({ id: 'valid-bits-wrong', severity: 'warning', message, ...place });
  return bits;
}
