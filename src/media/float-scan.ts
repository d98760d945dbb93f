// Float samples prove something only where each of them is an integer of some word length, full scale being 1.0: one scan of
// the whole file finds the smallest container that holds them all exactly, or the first sample that nothing holds.
// A digital copy of a tape is integer; float that is not came through a computation.
import { type Problem, TapeproofError } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';
import { nameOf, type PcmEncoding } from './pcm-encoding.ts';

const CHUNK_BYTES = 1024 * 1024;

/** Throws `unsupported` with the first frame that is no integer. */
export async function scanFloat(
  file: ByteFile,
  encoding: PcmEncoding,
  channels: number,
  dataAt: number,
  frames: number,
): Promise<{ bits: 16 | 24 | 32; problems: Problem[] }> {
  const width = encoding.bits / 8;
  const total = frames * channels;
  const step = Math.floor(CHUNK_BYTES / width) * width;
  let union = 0;
  for await (const { at, bytes } of file.stream(dataAt, dataAt + total * width, step)) {
    const seen = unionOf(bytes, encoding);
    if ('bad' in seen) throw inexact(file, encoding, channels, dataAt, (at - dataAt) / width + seen.bad, bytes, at);
    union |= seen.union;
  }
  const needed = union === 0 ? 1 : 1 + Math.clz32(union & -union);
  const bits = needed <= 16 ? 16 : needed <= 24 ? 24 : 32;
  return { bits, problems: [exact(encoding, bits, dataAt)] };
}

/** A float of 32 bits holds integers of 25: longer words in it are no recording, only the work of a gain or a mix. */
function exact(encoding: PcmEncoding, bits: number, offset: number): Problem {
  const isComputed = bits > 24 && encoding.bits === 32;
  const message = `floating-point samples, every one an exact integer of ${bits} bits: those integers were read`;
  const doubt = '; no recorder stores such words in 32-bit floating point, so they were computed';
  const found = nameOf(encoding);
  const severity = isComputed ? 'warning' : 'note';
  return { id: 'float-exact', severity, message: isComputed ? message + doubt : message, offset, found };
}

/** All samples as 32-bit integers joined by OR, or the index of the first that is none (NaN and infinities included). */
function unionOf(bytes: Uint8Array, { bits, endian }: PcmEncoding): { union: number } | { bad: number } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const isLittle = endian === 'little';
  const width = bits / 8;
  let union = 0;
  for (let i = 0, p = 0; p < bytes.length; i++, p += width) {
    const value = (bits === 32 ? view.getFloat32(p, isLittle) : view.getFloat64(p, isLittle)) * 2 ** 31;
    const whole = value | 0;
    if (whole !== value) return { bad: i };
    union |= whole;
  }
  return { union };
}

function inexact(
  file: ByteFile,
  encoding: PcmEncoding,
  channels: number,
  dataAt: number,
  sample: number,
  bytes: Uint8Array,
  at: number,
): TapeproofError {
  const width = encoding.bits / 8;
  const offset = dataAt + sample * width;
  const view = new DataView(bytes.buffer, bytes.byteOffset + offset - at, width);
  const isLittle = encoding.endian === 'little';
  const value = encoding.bits === 32 ? view.getFloat32(0, isLittle) : view.getFloat64(0, isLittle);
  const frame = Math.floor(sample / channels);
  return new TapeproofError('unsupported', 'floating-point samples that are no integers of any word length', {
    path: file.path,
    offset,
    expected: 'samples that are exact integers of 16, 24 or 32 bits, full scale being 1.0',
    found: `${value} at frame ${frame}, file channel ${(sample % channels) + 1}`,
    next: 'give the file as the recorder wrote it, in integers; nothing can be proven about samples that were computed',
  });
}
