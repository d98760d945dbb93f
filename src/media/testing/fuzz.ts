// Valid small files of every container, seeded damage to them, and the one rule that reading must keep whatever the bytes: it
// ends in samples or in our own error. Shared by the tests and by scripts/soak.mjs; needs no test runner.
import { TapeproofError } from '../../base/index.ts';
import type { AudioFile } from '../audio-file.ts';
import { openAudio } from '../open-audio.ts';
import { buildFlac, type FrameSpec } from './flac-bytes.ts';
import {
  bigEndianBytes,
  caf,
  cafChunk,
  cafData,
  commonChunk,
  descriptionChunk,
  form,
  iffChunk,
  soundChunk,
  w64,
  w64Chunk,
  w64Data,
} from './iff-bytes.ts';
import { noisePlanes, tonePlanes } from './signals.ts';
import { bextChunk, chunk, ds64, formatChunk, pcmBytes, riff } from './wave-bytes.ts';

/** Names end in no extension: contents decide. */
export function validFiles(): ReadonlyMap<string, Buffer> {
  const planes = noisePlanes(2, 200, 16);
  const little = pcmBytes(planes, 16);
  const big = bigEndianBytes(planes, 16);
  const format = formatChunk();
  const large = [ds64(72 + little.length, little.length, 200), format, chunk('data', little, { size: 0xffffffff })];
  const padded = formatChunk({ tag: 0xfffe, bits: 32, validBits: 24 });
  const exact = Buffer.alloc(800);
  for (let i = 0; i < 200; i++) exact.writeFloatLE(planes[0][i] / 32_768, i * 4);
  return new Map([
    ['wave', riff([bextChunk(48_000), format, chunk('data', little), chunk('LIST', Buffer.from('INFO'))])],
    ['wave-padded', riff([padded, chunk('data', pcmBytes(noisePlanes(2, 200, 24), 32, 8))])],
    ['wave-float', riff([formatChunk({ tag: 3, bits: 32, channels: 1 }), chunk('data', exact)])],
    ['rf64', riff(large, { id: 'RF64', size: 0xffffffff })],
    ['bw64', riff(large, { id: 'BW64', size: 0xffffffff })],
    ['w64', w64(format, [w64Data(planes, 16), w64Chunk('bext', Buffer.alloc(9))])],
    ['aiff', form([commonChunk({ frames: 200 }), soundChunk(big), iffChunk('NAME', Buffer.from('tape'))])],
    ['aifc', form([commonChunk({ frames: 200, compression: 'sowt' }), soundChunk(little)], 'AIFC')],
    ['caf', caf([descriptionChunk(), cafChunk('free', Buffer.alloc(20)), cafData(big)])],
    ['caf-open', caf([descriptionChunk({ flags: 2 }), cafData(little, -1)])],
    ...flacFiles(),
  ]);
}

function flacFiles(): [string, Buffer][] {
  const frame = (number: number, partitionOrder: number): FrameSpec => ({
    assignment: 10,
    subframes: [
      { kind: 'fixed', order: 2, partitionOrder, hasEscapes: true },
      { kind: 'linear', coefficients: [5, -2, 1], precision: 6, shift: 2, partitionOrder: 1 },
    ],
    planes: tonePlanes(2, 64, 16, number + 1),
  });
  const fixed = buildFlac({ bits: 16, rateHz: 48_000, frames: [frame(0, 2), frame(1, 3), frame(2, 0)] }).bytes;
  const constant: FrameSpec = {
    assignment: 0,
    subframes: [{ kind: 'constant' }],
    planes: [new Int32Array(4096).fill(7)],
  };
  const variable = buildFlac({ bits: 24, rateHz: 44_100, isVariable: true, frames: [constant, constant] }).bytes;
  return [
    ['flac', fixed],
    ['flac-variable', variable],
    ['flac-tagged', Buffer.concat([Buffer.from('ID3\x04\x00\x00\x00\x00\x00\x05', 'latin1'), Buffer.alloc(5), fixed])],
  ];
}

/** Values that sizes and counts break on. */
const EDGES = [0, 1, 2, 3, 7, 8, 0x7f, 0x80, 0xff, 0x7fff, 0x8000, 0xffff, 0x7fffffff, 0x80000000, 0xffffffff];

/** One to eight changes: bytes, fields of sizes, cuts, repeats, insertions. `next` gives signed 32-bit words. */
export function mutate(bytes: Uint8Array, next: () => number): Buffer {
  const pick = (most: number) => (next() >>> 0) % Math.max(1, most);
  let out: Buffer = Buffer.from(bytes);
  for (let change = pick(8); change >= 0; change--) {
    // Headers matter most: half of the changes fall into the first 128 bytes.
    const at = pick(next() & 1 ? Math.min(128, out.length) : out.length);
    const width = [1, 2, 4, 4, 8][pick(5)];
    const kind = pick(8);
    if (kind <= 1 && out.length > 0) out[at] = next();
    else if (kind === 2 && out.length > 0) out[at] ^= 1 << pick(8);
    else if (kind <= 5) putEdge(out, at, width, EDGES[pick(EDGES.length)], pick(2) === 0);
    else if (kind === 6) out = out.subarray(0, pick(4) ? at : out.length - pick(9));
    else {
      const length = pick(64);
      const to = pick(out.length);
      out = Buffer.concat([
        out.subarray(0, to),
        out.subarray(at, at + length),
        out.subarray(pick(2) ? to : to + length),
      ]);
    }
  }
  return out;
}

function putEdge(out: Buffer, at: number, width: number, value: number, isBig: boolean): void {
  for (let i = 0; i < width && at + i < out.length; i++) {
    const place = isBig ? width - 1 - i : i;
    // Beyond four bytes the field repeats its top: 0xFF.. stays -1, anything else stays small.
    out[at + i] = place < 4 ? value >>> (8 * place) : value === 0xffffffff ? 0xff : 0;
  }
}

/** What came of it, in words without numbers. Throws a plain Error where the rule is broken. */
export async function readOrRefuse(path: string): Promise<string> {
  try {
    const audio = await openAudio(path);
    try {
      await readEverything(audio);
      return `${audio.info.container} ${audio.info.problems.map(({ id }) => id).join(' ')}`;
    } finally {
      await audio.close();
    }
  } catch (error) {
    if (!(error instanceof TapeproofError)) throw error;
    if (error.detail.path !== path) throw new Error(`an error without its path: ${error.message}`);
    return `${error.kind}: ${error.message.replace(/\d+/g, 'N')}`;
  }
}

async function readEverything(audio: AudioFile): Promise<void> {
  const { frames, channels, bits } = audio.info;
  const top = 2 ** (bits - 1);
  const pass = audio.pass({ blockFrames: 4099 });
  let seen = 0;
  for await (const block of pass.blocks) {
    if (block.start !== seen || block.planes.length !== channels) throw new Error('blocks do not follow each other');
    seen += block.frames;
    for (const plane of block.planes)
      for (const sample of plane)
        if (sample < -top || sample >= top) throw new Error(`${sample} is no ${bits}-bit sample`);
  }
  if (seen !== frames) throw new Error(`${seen} frames came, ${frames} were told`);
  pass.digests();
  for (const start of [0, Math.floor(frames / 2), frames - 1]) {
    const block = await audio.read(start, 3);
    if (block.planes.length !== channels) throw new Error('a read with the wrong channels');
  }
}
