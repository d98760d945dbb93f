// Where samples have fewer valid bits than their container: do they stand at the top (as the standards ask) or at the bottom?
// Decided from the samples, never from the header alone. Not a measurement of the word length (examine does that).
import type { Problem } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';
import { takeOf } from './pcm-encoding.ts';
import type { PcmFound } from './pcm-layout.ts';
import { deinterleave } from './pcm-planes.ts';

const PLACES = 5;
const LOOK_BYTES = 32_768;
const CHUNK_BYTES = 1024 * 1024;
/** Shorter words than this are no audio of a tape: the bits at the bottom are then no evidence. */
const LEAST_RIGHT_BITS = 8;

/** `undecided`: silence, samples that fit both ways, or bits in use on both sides. Undefined: nothing to decide. */
export type Justification = 'left' | 'right' | 'undecided';

interface Settled {
  readonly justification?: Justification;
  readonly problems: Problem[];
}

/**
 * Left and undecided samples are delivered as stored, over the whole container; right-justified ones as integers of their
 * valid bits. Right is claimed only after every sample was looked at; left after a look at five places (a pass sees the rest).
 */
export async function settleJustification(file: ByteFile, found: PcmFound, frames: number): Promise<Settled> {
  const spare = found.encoding.bits - found.validBits;
  if (spare === 0) return { problems: [] };
  const seen = await lookAtPlaces(file, found, frames);
  const isLeft = (seen.union & (2 ** spare - 1)) === 0;
  const isRight = seen.isRight && found.validBits >= LEAST_RIGHT_BITS;
  if (seen.union === 0) return { justification: 'undecided', problems: [] };
  if (isLeft && isRight) return { justification: 'undecided', problems: found.isLeftByHeader ? [] : [unclear(found)] };
  if (isLeft) return { justification: 'left', problems: [] };
  if (isRight && (await isRightThroughout(file, found, frames)))
    return { justification: 'right', problems: [rightJustified(found)] };
  return { justification: 'undecided', problems: [paddingInUse(found)] };
}

const claim = ({ validBits, encoding }: PcmFound) => `${validBits} valid bits at the top of ${encoding.bits}`;

function rightJustified(found: PcmFound): Problem {
  const { validBits, encoding, dataAt: offset } = found;
  const message = `the samples stand at the bottom of their ${encoding.bits} bits and were read as integers of ${validBits} bits`;
  const unused = `the top ${encoding.bits - validBits} bits unused in every sample`;
  return { id: 'right-justified', severity: 'warning', message, offset, expected: claim(found), found: unused };
}

function unclear(found: PcmFound): Problem {
  const message =
    'whether the samples stand at the top or the bottom of their container cannot be told; top was assumed';
  const both = 'samples that fit both ways';
  const place = { offset: found.dataAt, expected: claim(found), found: both };
  return { id: 'justification-unclear', severity: 'warning', message, ...place };
}

/** Also what a pass reports when it meets such a sample later. */
export function paddingInUse(found: Pick<PcmFound, 'validBits' | 'encoding' | 'dataAt'>): Problem {
  const message = 'bits that the header calls unused are in use; samples were read at the full container width';
  const expected = `${found.validBits} valid bits at the top of ${found.encoding.bits}`;
  const place = { offset: found.dataAt, expected, found: 'lower bits in use' };
  return { id: 'padding-not-zero', severity: 'warning', message, ...place };
}

async function lookAtPlaces(file: ByteFile, found: PcmFound, frames: number) {
  const { channels, encoding, dataAt } = found;
  const width = encoding.bits / 8;
  const count = Math.min(frames, Math.max(1, Math.floor(LOOK_BYTES / (channels * width))));
  let union = 0;
  let isRight = true;
  for (let place = 0; place < PLACES && count > 0; place++) {
    const start = Math.floor(((frames - count) * place) / (PLACES - 1));
    const seen = look(await file.view(dataAt + start * channels * width, count * channels * width), found);
    union |= seen.union;
    isRight &&= seen.isRight;
  }
  return { union, isRight };
}

async function isRightThroughout(file: ByteFile, found: PcmFound, frames: number): Promise<boolean> {
  const frameBytes = (found.channels * found.encoding.bits) / 8;
  const step = frameBytes * Math.max(1, Math.floor(CHUNK_BYTES / frameBytes));
  for await (const { bytes } of file.stream(found.dataAt, found.dataAt + frames * frameBytes, step)) {
    if (!look(bytes, found).isRight) return false;
  }
  return true;
}

/** `union`: all sample bits joined by OR; `isRight`: the bits above the valid ones are zeros or copies of the sign. */
function look(bytes: Uint8Array, { encoding, validBits }: PcmFound) {
  const width = encoding.bits / 8;
  const plane = new Int32Array(bytes.length / width);
  deinterleave(bytes, 0, plane.length, takeOf(encoding), width, [plane], 0);
  let union = 0;
  let isRight = true;
  for (const sample of plane) {
    union |= sample;
    const above = sample >> validBits;
    if (above !== 0 && (above !== -1 || sample >> (validBits - 1) !== -1)) isRight = false;
  }
  return { union, isRight };
}
