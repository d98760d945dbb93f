// AIFF, CAF and W64 files, right and malformed: 4800 frames of 16-bit stereo unless said (standards notes, section 1.2, last rows
// of the table). The truth is known because the files are made here.
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
import type { RefusedFile } from './malformed-waves.ts';
import { noisePlanes } from './signals.ts';
import { chunk, formatChunk, pcmBytes, riff } from './wave-bytes.ts';

export const CONTAINER_PLANES = noisePlanes(2, 4800, 16);
const LITTLE = pcmBytes(CONTAINER_PLANES, 16);
const BIG = bigEndianBytes(CONTAINER_PLANES, 16);

export interface MalformedContainer {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly problems?: readonly string[];
  readonly frames?: number;
  readonly readAs?: 'partial';
  readonly takeTrailing?: boolean;
}

const HALF = LITTLE.length / 2;
export const CONTAINER_FILES: readonly MalformedContainer[] = [
  { name: 'AIFF', bytes: form([commonChunk(), soundChunk(BIG)]) },
  { name: 'AIFF, offset before the audio', bytes: form([commonChunk(), soundChunk(BIG, { offset: 16 })]) },
  { name: 'AIFC NONE', bytes: form([commonChunk({ compression: 'NONE' }), soundChunk(BIG)], 'AIFC') },
  { name: 'AIFC twos', bytes: form([commonChunk({ compression: 'twos' }), soundChunk(BIG)], 'AIFC') },
  { name: 'AIFC sowt', bytes: form([commonChunk({ compression: 'sowt' }), soundChunk(LITTLE)], 'AIFC') },
  {
    name: 'AIFF whose audio comes first, then text',
    bytes: form([soundChunk(BIG), commonChunk(), iffChunk('NAME', Buffer.from('tape'))]),
    problems: ['data-before-fmt'],
  },
  {
    name: 'AIFF with SSND size 8 (last row of the table)',
    bytes: form([commonChunk(), soundChunk(BIG, { size: 8 })]),
    problems: ['size-recovered'],
  },
  {
    name: 'AIFF after a loss of power',
    bytes: form([commonChunk({ frames: 0 }), soundChunk(BIG, { size: 0 })], 'AIFF', 0),
    problems: ['riff-size-wrong', 'size-recovered', 'frames-wrong'],
  },
  {
    name: 'AIFF whose header promises more frames',
    bytes: form([commonChunk({ frames: 5000 }), soundChunk(BIG)]),
    problems: ['frames-contradiction'],
    readAs: 'partial',
  },
  {
    name: 'AIFF that is cut off',
    bytes: form([commonChunk(), soundChunk(BIG)]).subarray(0, -7),
    problems: ['riff-size-wrong', 'data-truncated', 'partial-frame'],
    frames: 4798,
    readAs: 'partial',
  },
  { name: 'CAF, big-endian', bytes: caf([descriptionChunk(), cafData(BIG)]) },
  { name: 'CAF, little-endian', bytes: caf([descriptionChunk({ flags: 2 }), cafData(LITTLE)]) },
  {
    name: 'CAF with data size -1',
    bytes: caf([descriptionChunk(), cafChunk('free', Buffer.alloc(99)), cafData(BIG, -1)]),
    problems: ['size-open'],
  },
  {
    name: 'CAF after a loss of power',
    bytes: caf([descriptionChunk(), cafData(BIG, 0)]),
    problems: ['size-recovered'],
  },
  {
    name: 'CAF whose data is longer than the file',
    bytes: caf([descriptionChunk(), cafData(BIG, 2n ** 62n)]),
    problems: ['data-truncated'],
    readAs: 'partial',
  },
  {
    name: 'CAF with a chunk after the audio',
    bytes: caf([descriptionChunk(), cafData(BIG), cafChunk('info', Buffer.from('\0\0\0\0'))]),
  },
  { name: 'W64', bytes: w64(formatChunk(), [w64Data(CONTAINER_PLANES, 16), w64Chunk('bext', Buffer.alloc(9))]) },
  {
    name: 'W64 after a loss of power',
    bytes: w64(formatChunk(), [w64Chunk('data', LITTLE, 0)], 0),
    problems: ['riff-size-wrong', 'size-recovered'],
  },
  {
    name: 'W64 whose data is longer than the file',
    bytes: w64(formatChunk(), [w64Chunk('data', LITTLE, 2n ** 40n)]),
    problems: ['data-truncated'],
    readAs: 'partial',
  },
  ...(
    [
      ['WAVE', riff([formatChunk(), chunk('data', LITTLE, { size: HALF })])],
      ['AIFF', form([commonChunk(), soundChunk(BIG, { size: HALF + 8 })])],
      ['CAF', caf([descriptionChunk(), cafData(BIG, HALF + 4)])],
      ['W64', w64(formatChunk(), [w64Chunk('data', LITTLE, HALF + 24)])],
    ] as const
  ).flatMap(([kind, bytes]): MalformedContainer[] => [
    {
      name: `12 ${kind}: audio follows a data size that is too short`,
      bytes,
      problems: ['trailing-data'],
      frames: 2400,
      readAs: 'partial',
    },
    { name: `12 ${kind}: the same taken as audio`, bytes, problems: ['trailing-taken'], takeTrailing: true },
  ]),
];

export const REFUSED_CONTAINERS: readonly RefusedFile[] = [
  ...['ulaw', 'fl32', 'ima4', 'in24'].map((compression) => ({
    name: `AIFC ${compression}`,
    bytes: form([commonChunk({ compression }), soundChunk(BIG)], 'AIFC'),
    kind: 'unsupported' as const,
    says: new RegExp(`samples of the kind "${compression}"`),
  })),
  {
    name: 'FORM of another kind',
    bytes: form([commonChunk()], '8SVX'),
    kind: 'input',
    says: /no audio file of a known/,
  },
  { name: 'AIFF without SSND', bytes: form([commonChunk()]), kind: 'input', says: /no audio chunk "SSND"/ },
  { name: 'AIFF without COMM', bytes: form([soundChunk(BIG)]), kind: 'input', says: /no format chunk "COMM"/ },
  {
    name: 'CAF float',
    bytes: caf([descriptionChunk({ flags: 1, bits: 32 }), cafData(BIG)]),
    kind: 'unsupported',
    says: /floating-point/,
  },
  {
    name: 'CAF aac',
    bytes: caf([descriptionChunk({ format: 'aac ' }), cafData(BIG)]),
    kind: 'unsupported',
    says: /"aac "/,
  },
  { name: 'CAF without data', bytes: caf([descriptionChunk()]), kind: 'input', says: /no audio chunk "data"/ },
  { name: 'CAF without desc', bytes: caf([cafData(BIG)]), kind: 'input', says: /no format chunk "desc"/ },
  { name: 'W64 without data', bytes: w64(formatChunk(), []), kind: 'input', says: /no audio chunk "data"/ },
];
