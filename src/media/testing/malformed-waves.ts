// The rows of the malformed-file table of the standards notes (section 1.2) that are WAVE: 4800 frames of 16-bit stereo unless said.
// The truth is known because the files are made here. Read by the tests of the readers and by those of the command line.
import { noisePlanes } from './signals.ts';
import { chunk, ds64, formatChunk, pcmBytes, riff } from './wave-bytes.ts';

export const MALFORMED_PLANES = noisePlanes(2, 4800, 16);
const DATA = pcmBytes(MALFORMED_PLANES, 16);
const LIST = chunk('LIST', Buffer.from('INFOINAM\x04\x00\x00\x00tape', 'latin1'));
/** one cue point at frame 100, and its label of odd length */
const CUE = chunk('cue ', Buffer.from('01000000010000006400000064617461000000000000000064000000', 'hex'));
const LABELS = chunk('LIST', Buffer.from('adtllabl\x07\x00\x00\x00\x01\x00\x00\x00ab\0\0', 'latin1'));
export const HALF = DATA.length / 2;
const plain = riff([formatChunk(), chunk('data', DATA)]);
/** 3 bytes per frame: an odd number of audio bytes */
const MONO24 = noisePlanes(1, 4801, 24);
const ODD = pcmBytes(MONO24, 24);
const mono24 = formatChunk({ channels: 1, bits: 24 });
const VALID24 = noisePlanes(2, 4800, 24);
const VALID20 = noisePlanes(2, 4800, 20);

export interface MalformedFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly problems: readonly string[];
  readonly readAs?: 'partial';
  /** how many frames of the truth are read; all when left out */
  readonly frames?: number;
  readonly planes?: readonly Int32Array[];
  /** width of the integers in `planes` after `shift` */
  readonly bits?: number;
  readonly headerBits?: number;
}

export const MALFORMED_WAVES: readonly MalformedFile[] = [
  { name: '01 plain', bytes: plain, problems: [] },
  {
    name: '03 extensible, 24 valid in 32, left-justified',
    bytes: riff([formatChunk({ tag: 0xfffe, bits: 32, validBits: 24 }), chunk('data', pcmBytes(VALID24, 32, 8))]),
    problems: [],
    planes: VALID24.map((plane) => plane.map((sample) => sample << 8)),
    bits: 32,
    headerBits: 24,
  },
  {
    name: '03b extensible, 24 valid in 32, but the low bits are in use',
    bytes: riff([
      formatChunk({ tag: 0xfffe, bits: 32, validBits: 24 }),
      chunk('data', pcmBytes(noisePlanes(2, 4800, 32), 32)),
    ]),
    problems: ['padding-not-zero'],
    planes: noisePlanes(2, 4800, 32),
    bits: 32,
    headerBits: 24,
  },
  {
    name: '04 tag 1, 24 bits, blockAlign 8, right-justified',
    bytes: riff([formatChunk({ bits: 24, blockAlign: 8 }), chunk('data', pcmBytes(VALID24, 32))]),
    problems: ['container-wider', 'right-justified'],
    planes: VALID24,
    bits: 24,
    headerBits: 24,
  },
  {
    name: '05 extensible, 20 valid in 24',
    bytes: riff([formatChunk({ tag: 0xfffe, bits: 24, validBits: 20 }), chunk('data', pcmBytes(VALID20, 24, 4))]),
    problems: [],
    planes: VALID20.map((plane) => plane.map((sample) => sample << 4)),
    bits: 24,
    headerBits: 20,
  },
  {
    name: '05b tag 1 with an odd number of bits',
    bytes: riff([formatChunk({ bits: 20 }), chunk('data', pcmBytes(VALID20, 24, 4))]),
    problems: [],
    planes: VALID20.map((plane) => plane.map((sample) => sample << 4)),
    bits: 24,
    headerBits: 20,
  },
  {
    name: '07 odd data size, padded, LIST after',
    bytes: riff([mono24, chunk('data', ODD), LIST]),
    problems: [],
    planes: MONO24,
    bits: 24,
  },
  {
    name: '08 odd data size, pad missing, LIST after',
    bytes: riff([mono24, chunk('data', ODD, { pad: false }), LIST]),
    problems: ['pad-missing'],
    planes: MONO24,
    bits: 24,
  },
  {
    name: '08b odd data size, pad missing at the end',
    bytes: riff([mono24, chunk('data', ODD, { pad: false })]),
    problems: ['pad-missing'],
    planes: MONO24,
    bits: 24,
  },
  ...[0, 0xffffffff, 0x7fffffff, 0x7ffff000].map((size) => ({
    name: `09/10 power loss: sizes left at 0x${size.toString(16)}`,
    bytes: riff([formatChunk(), chunk('data', DATA, { size })], { size }),
    problems: ['riff-size-wrong', 'size-recovered'],
  })),
  {
    name: '09b power loss, and the audio begins like a chunk',
    bytes: riff(
      [
        formatChunk(),
        chunk('data', Buffer.concat([Buffer.from('ABCD\x10\x00\x00\x00'), DATA.subarray(8)]), { size: 0 }),
      ],
      { size: 0 },
    ),
    problems: ['riff-size-wrong', 'size-recovered'],
    planes: [0, 1].map((c) =>
      MALFORMED_PLANES[c].map((sample, i) =>
        i < 2
          ? [
              [0x4241, 0x4443],
              [0x10, 0],
            ][i][c]
          : sample,
      ),
    ),
  },
  {
    name: '11 data longer than the file',
    bytes: riff([formatChunk(), chunk('data', DATA, { size: DATA.length * 2 })], { size: 36 + DATA.length * 2 }),
    problems: ['data-truncated', 'riff-size-wrong'],
    readAs: 'partial',
  },
  {
    name: '12 data shorter than the file, audio follows',
    bytes: riff([formatChunk(), chunk('data', DATA, { size: HALF })], { size: 36 + HALF }),
    problems: ['riff-size-wrong', 'trailing-data'],
    readAs: 'partial',
    frames: 2400,
  },
  {
    name: '13 cut three bytes before the end',
    bytes: plain.subarray(0, plain.length - 3),
    problems: ['data-truncated', 'partial-frame', 'riff-size-wrong'],
    readAs: 'partial',
    frames: 4799,
  },
  { name: '15 data before fmt', bytes: riff([chunk('data', DATA), formatChunk()]), problems: ['data-before-fmt'] },
  {
    name: '16 blockAlign 2 for 16-bit stereo',
    bytes: riff([formatChunk({ blockAlign: 2 }), chunk('data', DATA)]),
    problems: ['blockalign-contradiction', 'byterate-wrong'],
  },
  {
    name: '16b blockAlign 0',
    bytes: riff([formatChunk({ blockAlign: 0 }), chunk('data', DATA)]),
    problems: ['blockalign-contradiction', 'byterate-wrong'],
  },
  {
    name: '17 byte rate wrong',
    bytes: riff([formatChunk({ byteRate: 1 }), chunk('data', DATA)]),
    problems: ['byterate-wrong'],
  },
  {
    name: '18 two data chunks',
    bytes: riff([formatChunk(), chunk('data', DATA.subarray(0, HALF)), chunk('data', DATA.subarray(HALF))]),
    problems: ['second-data-chunk'],
    readAs: 'partial',
    frames: 2400,
  },
  ...(['RF64', 'BW64'] as const).flatMap((id) => [
    {
      name: `21/22 small ${id}`,
      bytes: riff(
        [ds64(72 + DATA.length, DATA.length, 4800), formatChunk(), chunk('data', DATA, { size: 0xffffffff })],
        { id, size: 0xffffffff },
      ),
      problems: [],
    },
    {
      name: `23 ${id} with ds64 all zero`,
      bytes: riff([ds64(0, 0, 0), formatChunk(), chunk('data', DATA, { size: 0xffffffff })], { id, size: 0xffffffff }),
      problems: ['ds64-zero', 'riff-size-wrong', 'size-recovered'],
    },
    {
      name: `24 ${id} without ds64`,
      bytes: riff([formatChunk(), chunk('data', DATA, { size: 0xffffffff })], { id, size: 0xffffffff }),
      problems: ['ds64-missing', 'riff-size-wrong', 'size-recovered'],
    },
    {
      name: `${id} whose ds64 promises more than the file holds`,
      bytes: riff(
        [ds64(72 + DATA.length, DATA.length + 2 ** 33, 4800), formatChunk(), chunk('data', DATA, { size: 0xffffffff })],
        { id, size: 0xffffffff },
      ),
      problems: ['data-truncated'],
      readAs: 'partial' as const,
    },
  ]),
  {
    name: '25 cue points and their labels behind the audio',
    bytes: riff([formatChunk(), chunk('data', DATA), CUE, LABELS]),
    problems: [],
  },
  {
    name: 'an unknown chunk before and after the audio',
    bytes: riff([chunk('Zz9!', Buffer.alloc(5)), formatChunk(), chunk('data', DATA), chunk('Zz9!', Buffer.alloc(7))]),
    problems: [],
  },
  {
    name: 'a chunk after the audio that is cut off',
    bytes: riff([formatChunk(), chunk('data', DATA), chunk('LIST', Buffer.alloc(10), { size: 100 })]),
    problems: ['chunk-truncated'],
  },
  {
    name: 'a format chunk that states a wrong size',
    bytes: riff([Buffer.from(formatChunk()).fill(17, 4, 5), chunk('data', DATA)]),
    problems: ['chunk-size-wrong'],
  },
  {
    name: 'two format chunks',
    bytes: riff([formatChunk(), formatChunk({ channels: 1 }), chunk('data', DATA)]),
    problems: ['second-fmt-chunk'],
  },
  {
    name: 'three stray bytes at the end',
    bytes: Buffer.concat([plain, Buffer.from([1, 2, 3])]),
    problems: ['riff-size-wrong', 'trailing-data'],
  },
  {
    name: 'no frames at all',
    bytes: riff([formatChunk(), chunk('data', Buffer.alloc(0))]),
    problems: ['data-empty'],
    frames: 0,
  },
];

export interface RefusedFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly kind: 'input' | 'unsupported';
  readonly says: RegExp;
}

export const REFUSED_WAVES: readonly RefusedFile[] = [
  { name: '14 no data', bytes: riff([formatChunk()]), kind: 'input', says: /no audio chunk "data"/ },
  { name: 'no fmt', bytes: riff([chunk('data', DATA)]), kind: 'input', says: /no format chunk/ },
  {
    name: '20 zero channels',
    bytes: riff([formatChunk({ channels: 0 }), chunk('data', DATA)]),
    kind: 'input',
    says: /byte 22: the header says zero channels/,
  },
  {
    name: 'rate zero',
    bytes: riff([formatChunk({ rateHz: 0 }), chunk('data', DATA)]),
    kind: 'input',
    says: /byte 24: .*rate of zero/,
  },
  {
    name: 'float that is no integer',
    bytes: riff([formatChunk({ tag: 3, bits: 32 }), chunk('data', DATA)]),
    kind: 'unsupported',
    says: /floating-point/,
  },
  {
    name: 'extensible float that is no integer',
    bytes: riff([
      formatChunk({ tag: 0xfffe, bits: 32, subFormat: '0300000000001000800000aa00389b71' }),
      chunk('data', DATA),
    ]),
    kind: 'unsupported',
    says: /floating-point/,
  },
  {
    name: 'a compressed format',
    bytes: riff([formatChunk({ tag: 0x55, bits: 16 }), chunk('data', DATA)]),
    kind: 'unsupported',
    says: /format tag 0x0055/,
  },
  {
    name: '64 bits',
    bytes: riff([formatChunk({ bits: 64 }), chunk('data', DATA)]),
    kind: 'unsupported',
    says: /1 to 32 bits/,
  },
  { name: 'an empty file', bytes: Buffer.alloc(0), kind: 'input', says: /the file is empty/ },
  { name: 'one byte', bytes: Buffer.from('R'), kind: 'input', says: /no audio file of a known kind/ },
  {
    name: 'text',
    bytes: Buffer.from('this is no audio file at all'),
    kind: 'input',
    says: /no audio file of a known kind/,
  },
  { name: 'the head of a FLAC file', bytes: Buffer.from('fLaC'), kind: 'input', says: /FLAC file does not say/ },
];
