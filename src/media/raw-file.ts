// Opens bare samples without any header: everything about them is said by the user, nothing is guessed.
import { type Problem, parseRate, type Rate, rate, TapeproofError } from '../base/index.ts';
import type { AudioFile } from './audio-file.ts';
import { startsAsAudio } from './audio-kind.ts';
import { type ByteFile, openBytes } from './byte-file.ts';
import { PcmFile } from './pcm-file.ts';
import { settlePcm } from './pcm-layout.ts';

export interface RawSpec {
  readonly rate: Rate;
  /** 1 to 65535 */
  readonly channels: number;
  readonly bits: 8 | 16 | 24 | 32;
  /** without meaning for 8 bits */
  readonly endian: 'little' | 'big';
  readonly signed: boolean;
  /** bytes before the first sample; left out for 0 */
  readonly offset?: number;
}

const SPEC = /^([^:]+):(\d{1,5}):([su])(8|16|24|32)(le|be)?(?::(\d{1,15}))?$/i;

/**
 * "48000:2:s16le", with the number of bytes to skip behind a further colon: rate, channels, then s or u (signed or offset),
 * bits, le or be (little or big endian; not for 8 bits). Throws `input`.
 */
export function parseRawSpec(text: string): RawSpec {
  const match = SPEC.exec(text.trim());
  const [, rateText = '', channels = '', sign = '', bits = '', order, offset] = match ?? [];
  const isOrderSaid = (order !== undefined) === (bits !== '8');
  if (!match || !isOrderSaid) throw notSpec(text);
  return checked({
    rate: parseRate(rateText),
    channels: Number(channels),
    bits: Number(bits) as RawSpec['bits'],
    endian: order?.toLowerCase() === 'be' ? 'big' : 'little',
    signed: sign.toLowerCase() === 's',
    ...(Number(offset ?? 0) > 0 ? { offset: Number(offset) } : {}),
  });
}

/** The text that `parseRawSpec` reads as the same description. */
export function formatRawSpec({ rate: { num, den }, channels, bits, endian, signed, offset = 0 }: RawSpec): string {
  const order = bits === 8 ? '' : endian === 'big' ? 'be' : 'le';
  const format = `${signed ? 's' : 'u'}${bits}${order}`;
  return `${den === 1 ? num : `${num}/${den}`}:${channels}:${format}${offset > 0 ? `:${offset}` : ''}`;
}

function notSpec(found: string): TapeproofError {
  return new TapeproofError('input', 'not a description of raw samples', {
    expected: 'RATE:CHANNELS:FORMAT or RATE:CHANNELS:FORMAT:BYTES, as in 48000:2:s16le or 44100:1:u8:512',
    found,
    next: 'formats are s or u, then 8, 16, 24 or 32, then le or be (neither for 8)',
  });
}

function checked(spec: RawSpec): RawSpec {
  const { channels, bits, offset = 0 } = spec;
  if (
    Number.isInteger(channels) &&
    channels >= 1 &&
    channels <= 65_535 &&
    [8, 16, 24, 32].includes(bits) &&
    offset >= 0
  )
    return spec;
  throw notSpec(`${channels} channels, ${bits} bits, ${offset} bytes to skip`);
}

/** Throws `input` when the file ends before the first whole frame; a part of a frame at the end is told as damage. */
export async function openRaw(path: string, spec: RawSpec, options: { name?: string } = {}): Promise<AudioFile> {
  const { channels, bits, endian, signed: isSigned, offset = 0 } = checked(spec);
  const file = await openBytes(path, options.name);
  try {
    if (file.size - offset < (channels * bits) / 8) throw nothing(path, offset, file.size);
    const layout = await settlePcm(file, {
      container: 'raw',
      channels,
      rate: rate(spec.rate.num, spec.rate.den),
      encoding: { kind: 'integer', bits, endian, isSigned },
      validBits: bits,
      isLeftByHeader: true,
      dataAt: offset,
      bytes: file.size - offset,
      problems: await headerRead(file, offset),
    });
    return new PcmFile(file, layout);
  } catch (error) {
    await file.close();
    throw error;
  }
}

/** Somebody who describes a file that describes itself has probably named the wrong one. */
async function headerRead(file: ByteFile, offset: number): Promise<Problem[]> {
  if (offset > 0 || !(await startsAsAudio(file))) return [];
  const message = 'the file begins with the header of a known kind; it was read as samples, as asked';
  return [{ id: 'raw-has-header', severity: 'warning', message, offset: 0 }];
}

function nothing(path: string, offset: number, size: number): TapeproofError {
  const expected = `a frame behind byte ${offset}`;
  return new TapeproofError('input', 'the file holds no frame', { path, offset, expected, found: `${size} bytes` });
}
