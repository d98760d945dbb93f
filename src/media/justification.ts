// Where samples have fewer valid bits than their container, looks at a little audio to see whether the header tells the
// truth. Only reports: samples are always delivered as stored. Not a measurement of the word length (examine does that).
import type { Problem } from '../base/index.ts';
import type { ByteFile } from './byte-file.ts';
import { deinterleave } from './pcm-planes.ts';
import type { WaveFormat } from './wave-format.ts';

const PLACES = 5;
const LOOK_BYTES = 32_768;

export async function checkJustification(
  file: ByteFile,
  format: WaveFormat,
  dataAt: number,
  frames: number,
): Promise<Problem[]> {
  const spare = format.containerBits - format.validBits;
  if (spare === 0 || frames === 0) return [];
  const bits = await sampleBits(file, format, dataAt, frames);
  const isLeft = (bits.union & (2 ** spare - 1)) === 0;
  const isRight = bits.widest <= format.validBits;
  if (bits.union === 0 || (isLeft && !isRight)) return [];
  const claim = `${format.validBits} valid bits at the top of ${format.containerBits}`;
  if (isRight && !isLeft) {
    const message = 'samples look right-justified; they were read as stored, so levels may be wrong';
    return [
      {
        id: 'right-justified',
        severity: 'warning',
        message,
        offset: dataAt,
        expected: claim,
        found: `the top ${spare} bits unused`,
      },
    ];
  }
  if (isLeft) return [];
  const message = 'bits that the header calls unused are in use; samples were read at the full container width';
  return [
    {
      id: 'padding-not-zero',
      severity: 'warning',
      message,
      offset: dataAt,
      expected: claim,
      found: 'lower bits in use',
    },
  ];
}

/** `union`: all sample bits joined by OR; `widest`: bits a right-justified reading needs. */
async function sampleBits(file: ByteFile, format: WaveFormat, dataAt: number, frames: number) {
  const count = Math.max(1, Math.min(frames, Math.floor(LOOK_BYTES / format.frameBytes)));
  const planes = Array.from({ length: format.channels }, () => new Int32Array(count));
  let union = 0;
  let magnitude = 0;
  for (let place = 0; place < PLACES; place++) {
    const start = Math.floor(((frames - count) * place) / (PLACES - 1));
    const bytes = await file.view(dataAt + start * format.frameBytes, count * format.frameBytes);
    deinterleave(bytes, 0, count, format.containerBits, planes, 0);
    for (const plane of planes) {
      for (const sample of plane) {
        union |= sample;
        magnitude |= sample < 0 ? ~sample : sample;
      }
    }
  }
  return { union, widest: 33 - Math.clz32(magnitude) };
}
