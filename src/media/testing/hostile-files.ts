// Files that lie, on purpose or by accident, of every container. What each comes to is written beside it: a number of frames, or the
// kind of the refusal. Read by the tests of the readers and by those of the command line.
import { BitWriter, checksum } from './flac-bytes.ts';
import {
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
} from './iff-bytes.ts';
import { chunk, ds64, formatChunk, riff } from './wave-bytes.ts';

export type HostileOutcome = number | 'input' | 'unsupported';

const DATA = Buffer.alloc(400, 1);
const data = (size?: number) => chunk('data', DATA, size === undefined ? {} : { size });
const le16 = (value: number) => Buffer.from([value & 255, (value >> 8) & 255]);

/** A format chunk with one field overwritten: offset in the body, bytes. */
function badFormat(at: number, bytes: Uint8Array, fields = {}): Buffer {
  const format = formatChunk(fields);
  format.set(bytes, 8 + at);
  return format;
}

const WAVE: readonly [string, Uint8Array, HostileOutcome][] = [
  ['65535 channels and less than one frame', riff([formatChunk({ channels: 65_535, bits: 8 }), data()]), 0],
  [
    '65535 channels of 16 bits, one frame',
    riff([badFormat(12, le16(0), { channels: 65_535, bits: 16, blockAlign: 0 }), chunk('data', Buffer.alloc(131_070))]),
    1,
  ],
  ['65535 channels, no audio', riff([formatChunk({ channels: 65_535, bits: 8 }), chunk('data', Buffer.alloc(0))]), 0],
  ['0 Hz', riff([formatChunk({ rateHz: 0 }), data()]), 'input'],
  ['4 GHz', riff([badFormat(4, Buffer.alloc(4, 255)), data()]), 100],
  ['0 bits', riff([badFormat(14, le16(0)), data()]), 'unsupported'],
  ['1 bit', riff([badFormat(14, le16(1)), data()]), 100],
  ['255 bits', riff([badFormat(14, le16(255)), data()]), 'unsupported'],
  ['65535 bits', riff([badFormat(14, le16(65_535)), data()]), 'unsupported'],
  ['float of 16 bits', riff([formatChunk({ tag: 3, bits: 16 }), data()]), 'unsupported'],
  ['blockAlign 65535', riff([formatChunk({ blockAlign: 65_535 }), data()]), 100],
  ['a format chunk of size 0', riff([chunk('fmt ', Buffer.alloc(0)), data()]), 'input'],
  ['a format chunk of 15 bytes', riff([chunk('fmt ', Buffer.alloc(15)), data()]), 'input'],
  ['a format chunk of 4 GiB', riff([badFormat(-4, Buffer.alloc(4, 255)), data()]), 100],
  ['extensible in 16 bytes', riff([badFormat(0, le16(0xfffe)), data()]), 'input'],
  ['extensible, 0 valid bits', riff([formatChunk({ tag: 0xfffe, validBits: 0 }), data()]), 100],
  ['extensible, 65535 valid bits', riff([formatChunk({ tag: 0xfffe, validBits: 65_535 }), data()]), 100],
  [
    'extensible, unknown sub-format',
    riff([formatChunk({ tag: 0xfffe, subFormat: 'ab'.repeat(16) }), data()]),
    'unsupported',
  ],
  ['data of 2^31', riff([formatChunk(), data(2 ** 31)]), 100],
  ['data of 2^32 - 1', riff([formatChunk(), data(2 ** 32 - 1)]), 100],
  ['data in data', riff([formatChunk(), chunk('data', Buffer.concat([riff([formatChunk(), data()]), DATA]))]), 211],
  ['RIFF in RIFF', riff([chunk('LIST', riff([formatChunk(), data()])), formatChunk(), data()]), 100],
  ['chunks that overlap', riff([formatChunk(), chunk('LIST', DATA.subarray(0, 8), { size: 300 }), data()]), 'input'],
  [
    '100000 empty chunks',
    riff([Buffer.concat(Array(100_000).fill(chunk('JUNK', Buffer.alloc(0)))), formatChunk(), data()]),
    'input',
  ],
  [
    '5000 empty chunks behind the audio',
    riff([formatChunk(), data(), Buffer.concat(Array(5000).fill(chunk('JUNK', Buffer.alloc(0))))]),
    100,
  ],
  ['500 format chunks', riff([Buffer.concat(Array(500).fill(formatChunk())), data()]), 100],
  ['500 data chunks', riff([formatChunk(), Buffer.concat(Array(500).fill(data()))]), 100],
  ['ids of zeros', riff([formatChunk(), Buffer.alloc(4000), data()]), 'input'],
  ['a cue list of 2^32 - 1 points', riff([chunk('cue ', Buffer.alloc(8, 255)), formatChunk(), data()]), 100],
  ['a bext of 20 bytes', riff([chunk('bext', Buffer.alloc(20)), formatChunk(), data()]), 100],
  ['a bext whose time is 2^64 - 1', riff([chunk('bext', Buffer.alloc(700, 255)), formatChunk(), data()]), 100],
  ['RF64 of 2^64 - 1', riff([ds64Of(2n ** 64n - 1n), formatChunk(), data(2 ** 32 - 1)], { id: 'RF64' }), 100],
  ['RF64 of 2^63', riff([ds64Of(2n ** 63n), formatChunk(), data(2 ** 32 - 1)], { id: 'RF64' }), 100],
  ['BW64 of 2^53 + 1', riff([ds64Of(2n ** 53n + 1n), formatChunk(), data(2 ** 32 - 1)], { id: 'BW64' }), 100],
  ['a ds64 table of 2^32 - 1 entries', riff([tableBomb(), formatChunk(), data(2 ** 32 - 1)], { id: 'RF64' }), 100],
  ['two ds64', riff([ds64(0, 400, 100), ds64(0, 8, 2), formatChunk(), data(2 ** 32 - 1)], { id: 'RF64' }), 100],
  ['a ds64 of 3 bytes', riff([chunk('ds64', Buffer.alloc(3)), formatChunk(), data(2 ** 32 - 1)], { id: 'BW64' }), 100],
];

function ds64Of(value: bigint): Buffer {
  const body = Buffer.alloc(28);
  for (const at of [0, 8, 16]) body.writeBigUInt64LE(value, at);
  return chunk('ds64', body);
}

function tableBomb(): Buffer {
  const body = Buffer.alloc(40, 255);
  body.writeBigUInt64LE(400n, 8);
  return chunk('ds64', body);
}

const W64: readonly [string, Uint8Array, HostileOutcome][] = [
  ['only its first 40 bytes', w64(formatChunk(), []).subarray(0, 40), 'input'],
  ['without WAVE', w64(formatChunk(), []).fill(0, 24, 40), 'input'],
  ['data of size 0', w64(formatChunk(), [w64Chunk('data', DATA, 0)]), 100],
  ['data of size 23', w64(formatChunk(), [w64Chunk('data', DATA, 23)]), 100],
  ['data of 2^64 - 1', w64(formatChunk(), [w64Chunk('data', DATA, 2n ** 64n - 1n)]), 100],
  ['data of 2^63', w64(formatChunk(), [w64Chunk('data', DATA, 2n ** 63n)]), 100],
  [
    'a chunk of size 0 before the audio',
    w64(formatChunk(), [w64Chunk('junk', DATA, 0), w64Chunk('data', DATA)]),
    'input',
  ],
  [
    '10000 empty chunks',
    w64(formatChunk(), [Buffer.concat(Array(10_000).fill(w64Chunk('junk', Buffer.alloc(0))))]),
    'input',
  ],
  ['a format chunk of 2^62', w64(formatChunk(), [w64Chunk('fmt ', DATA, 2n ** 62n)]), 'input'],
];

const EXTENDED_NAN = Buffer.from('7fffc000000000000000', 'hex');
const EXTENDED_INFINITY = Buffer.from('7fff8000000000000000', 'hex');
const sound = soundChunk(DATA);
const aiffRate = (hex: string) => form([commonChunk({ frames: 100, rate: Buffer.from(hex, 'hex') }), sound]);

const AIFF: readonly [string, Uint8Array, HostileOutcome][] = [
  ['a rate that is no number', form([commonChunk({ rate: EXTENDED_NAN }), sound]), 'input'],
  ['an infinite rate', form([commonChunk({ rate: EXTENDED_INFINITY }), sound]), 'input'],
  ['a rate of 0', aiffRate('00000000000000000000'), 'input'],
  ['a negative rate', aiffRate('c00ebb80000000000000'), 'input'],
  ['the smallest rate there is', aiffRate('00000000000000000001'), 'input'],
  ['the largest finite rate', aiffRate('7ffeffffffffffffffff'), 'input'],
  ['0 channels', form([commonChunk({ channels: 0 }), sound]), 'input'],
  ['-1 channels', form([commonChunk({ channels: -1 }), sound]), 'input'],
  ['32767 channels', form([commonChunk({ channels: 32_767 }), sound]), 0],
  ['0 bits', form([commonChunk({ bits: 0 }), sound]), 'unsupported'],
  ['-1 bits', form([commonChunk({ bits: -1 }), sound]), 'unsupported'],
  ['255 bits', form([commonChunk({ bits: 255 }), sound]), 'unsupported'],
  ['2^32 - 1 frames', form([commonChunk({ frames: 2 ** 32 - 1 }), sound]), 100],
  ['an offset of 2^32 - 1', form([commonChunk(), soundChunk(DATA, { offset: 2 ** 32 - 1 })]), 0],
  ['a COMM of 4 bytes', form([iffChunk('COMM', Buffer.alloc(4)), sound]), 'input'],
  ['an SSND of 4 bytes', form([commonChunk(), iffChunk('SSND', Buffer.alloc(4))]), 0],
  ['AIFC without its compression', form([commonChunk(), sound], 'AIFC'), 'input'],
  ['a compression of zeros', form([commonChunk({ compression: '\0\0\0\0' }), sound], 'AIFC'), 'unsupported'],
  ['2^31 of sound', form([commonChunk(), soundChunk(DATA, { size: 2 ** 31 })]), 100],
  ['FORM in FORM', form([form([commonChunk(), sound]), commonChunk({ frames: 100 }), sound]), 100],
  [
    '5000 marker chunks',
    form([Buffer.concat(Array(5000).fill(iffChunk('MARK', Buffer.alloc(2)))), commonChunk(), sound]),
    'input',
  ],
];

const CAF: readonly [string, Uint8Array, HostileOutcome][] = [
  ['0 channels', caf([descriptionChunk({ channels: 0 }), cafData(DATA)]), 'input'],
  ['2^32 - 1 channels', caf([descriptionChunk({ channels: 2 ** 32 - 1, packetBytes: 4 }), cafData(DATA)]), 'input'],
  ['a rate that is no number', caf([descriptionChunk({ rateHz: Number.NaN }), cafData(DATA)]), 'input'],
  ['a rate of 1e300', caf([descriptionChunk({ rateHz: 1e300 }), cafData(DATA)]), 'input'],
  ['a rate of 1e-300', caf([descriptionChunk({ rateHz: 1e-300 }), cafData(DATA)]), 'input'],
  ['an irrational rate', caf([descriptionChunk({ rateHz: Math.PI * 10_000 }), cafData(DATA)]), 100],
  ['0 bits', caf([descriptionChunk({ bits: 0, packetBytes: 4 }), cafData(DATA)]), 'unsupported'],
  ['packets of 2^32 - 1 bytes', caf([descriptionChunk({ packetBytes: 2 ** 32 - 1 }), cafData(DATA)]), 'input'],
  ['packets of 0 bytes', caf([descriptionChunk({ packetBytes: 0 }), cafData(DATA)]), 'input'],
  ['2^32 - 1 frames in a packet', caf([descriptionChunk({ packetFrames: 2 ** 32 - 1 }), cafData(DATA)]), 'input'],
  [
    'a packet table of 2^60 entries',
    caf([descriptionChunk(), cafChunk('pakt', Buffer.alloc(24, 15)), cafData(DATA)]),
    100,
  ],
  [
    'a packet table of size 2^62',
    caf([descriptionChunk(), cafChunk('pakt', Buffer.alloc(24), 2n ** 62n), cafData(DATA)]),
    'input',
  ],
  ['data of -2', caf([descriptionChunk(), cafData(DATA, -2)]), 100],
  ['data of -2^63', caf([descriptionChunk(), cafData(DATA, -(2n ** 63n))]), 100],
  ['data of 2^63 - 1', caf([descriptionChunk(), cafData(DATA, 2n ** 63n - 1n)]), 100],
  ['a chunk of -1 before the audio', caf([descriptionChunk(), cafChunk('free', DATA, -1), cafData(DATA)]), 'input'],
  ['a desc of 3 bytes', caf([cafChunk('desc', Buffer.alloc(3)), cafData(DATA)]), 'input'],
  ['version 65535', caf([descriptionChunk(), cafData(DATA)]).fill(255, 4, 6), 100],
  [
    '10000 empty chunks',
    caf([descriptionChunk(), Buffer.concat(Array(10_000).fill(cafChunk('free', Buffer.alloc(0)))), cafData(DATA)]),
    'input',
  ],
];

/** STREAMINFO and frames of one channel of 16 bits, whose bodies are written bit by bit; all checksums right. */
function flac(bodies: readonly ((out: BitWriter) => void)[], options: FlacOptions = {}): Buffer {
  const { block = 16, total = 16, numbers = bodies.map((_, i) => i), rateHz = 48_000, bits = 16 } = options;
  const head = new BitWriter()
    .put(0x664c6143, 32)
    .put(options.isMore ? 0 : 0x80, 8)
    .put(34, 24);
  head
    .put(Math.min(block, 65_535), 16)
    .put(Math.min(block, 65_535), 16)
    .put(0, 48)
    .put(rateHz, 20)
    .put(0, 3)
    .put(bits - 1, 5);
  head.put(total, 36);
  const frames = bodies.map((body, i) => frameOf(body, numbers[i], block));
  return Buffer.concat([head.bytes(), Buffer.alloc(16), options.after ?? Buffer.alloc(0), ...frames]);
}

interface FlacOptions {
  block?: number;
  total?: number;
  numbers?: readonly number[];
  rateHz?: number;
  bits?: number;
  /** STREAMINFO is not the last block of metadata */
  isMore?: boolean;
  after?: Uint8Array;
}

function frameOf(body: (out: BitWriter) => void, number: number, block: number): Buffer {
  const out = new BitWriter().put(0xfff8, 16).put(7, 4).put(0, 4).put(0, 4).put(4, 3).put(0, 1);
  if (number < 128) out.put(number, 8);
  else out.put(0xfe, 8).put(0x80 | Math.floor(number / 2 ** 30), 8);
  if (number >= 128) for (let i = 4; i >= 0; i--) out.put(0x80 | (Math.floor(number / 64 ** i) % 64), 8);
  out.put(block - 1, 16);
  out.put(checksum(out.bytes(), 8, 0x07), 8);
  body(out);
  const bytes = out.bytes();
  return Buffer.concat([bytes, new BitWriter().put(checksum(bytes, 16, 0x8005), 16).bytes()]);
}

const subframe = (out: BitWriter, type: number) => out.put(0, 1).put(type, 6).put(0, 1);
const constant = (out: BitWriter) => void subframe(out, 0).put(1, 16);
const rice = (order: number, parameter: number) => (out: BitWriter) =>
  void subframe(out, 8).put(0, 2).put(order, 4).put(parameter, 4).put(0xffff, 16);
const linear = (order: number, precision: number, shift: number) => (out: BitWriter) => {
  subframe(out, 31 + order);
  for (let i = 0; i < order; i++) out.put(0, 16);
  out.put(precision, 4).put(shift, 5).put(0, 32).put(0, 32);
};
const metadata = (type: number, length: number, body = 0) =>
  Buffer.concat([Buffer.from([type, (length >> 16) & 255, (length >> 8) & 255, length & 255]), Buffer.alloc(body)]);
const verbatimHead = () => frameOf((out) => void subframe(out, 1), 0, 65_535).subarray(0, -2);
const good = flac([constant, constant], { total: 32 });

const FLAC: readonly [string, Uint8Array, HostileOutcome][] = [
  ['two frames as they should be', good, 32],
  ['no frames', flac([], { total: 0 }), 'input'],
  ['2^36 - 1 frames promised', flac([constant], { total: 2 ** 36 - 1 }), 16],
  ['partition order 15 of a block of 16', flac([rice(15, 0)]), 'input'],
  [
    'partition order 4 with predictor 0 of a block of 16',
    flac([
      (out) => {
        subframe(out, 8).put(0, 2).put(4, 4);
        for (let i = 0; i < 16; i++) out.put(0, 4).put(1, 1);
      },
    ]),
    16,
  ],
  ['an escape code of width 0', flac([(out) => void subframe(out, 8).put(0, 2).put(0, 4).put(15, 4).put(0, 5)]), 16],
  [
    'an escape code of width 31 that is cut',
    flac([(out) => void subframe(out, 8).put(0, 2).put(0, 4).put(15, 4).put(31, 5)]),
    'input',
  ],
  ['reserved residual coding', flac([(out) => void subframe(out, 8).put(3, 2).put(0, 32)]), 'input'],
  [
    'zeros without end where a 1 must come',
    flac([
      (out) => {
        subframe(out, 8).put(0, 2).put(0, 4).put(0, 4);
        for (let i = 0; i < 2000; i++) out.put(0, 32);
      },
    ]),
    'input',
  ],
  ['predictor 32 of a block of 16', flac([linear(32, 14, 0)]), 'input'],
  ['coefficients of 16 bits', flac([linear(2, 15, 0)]), 'input'],
  ['a negative shift', flac([linear(2, 5, 31)]), 'input'],
  ['a reserved kind of subframe', flac([(out) => void subframe(out, 2).put(0, 32)]), 'input'],
  [
    '40 wasted bits of 16',
    flac([(out) => void out.put(0, 1).put(1, 6).put(1, 1).put(0, 39).put(1, 1).put(0, 32)]),
    'input',
  ],
  ['a block of 65535 in 12 bytes', flac([constant], { block: 65_535, total: 65_535 }), 65_535],
  ['a block of 65536', flac([constant], { block: 65_536, total: 65_536 }), 'input'],
  ['a block of 1', flac([constant], { block: 1, total: 1 }), 1],
  ['a frame number of 2^31', flac([constant, constant], { numbers: [0, 2 ** 31], total: 32 }), 32],
  ['the same frame 300 times', flac(Array(300).fill(constant), { numbers: Array(300).fill(0), total: 4800 }), 16],
  ['0 Hz', flac([constant], { rateHz: 0 }), 'input'],
  ['1 bit', flac([constant], { bits: 1 }), 'input'],
  [
    '10000 empty blocks of metadata',
    flac([constant], { isMore: true, after: Buffer.concat(Array(10_000).fill(metadata(1, 0))) }),
    16,
  ],
  ['a picture of 16 MiB in 100 bytes', flac([constant], { isMore: true, after: metadata(6, 0xffffff, 100) }), 16],
  ['STREAMINFO of 2^24 - 1 bytes', Buffer.from(good).fill(255, 5, 8), 32],
  ['STREAMINFO of 0 bytes', Buffer.from(good).fill(0, 5, 8), 'input'],
  ['a reserved block of metadata', flac([constant], { isMore: true, after: metadata(127, 4, 4) }), 16],
  ['an ID3 tag of 256 MiB', Buffer.concat([Buffer.from('ID3\x04\0\0\x7f\x7f\x7f\x7f', 'latin1'), good]), 'input'],
  ['an ID3 tag in an ID3 tag', Buffer.concat([Buffer.alloc(2000, 'ID3\x04\0\0\0\0\0\0', 'latin1'), good]), 'input'],
  ['an ID3 tag alone', Buffer.from('ID3\x04\0\0\0\0\0\0', 'latin1'), 'input'],
  [
    '64 KiB of sync codes',
    Buffer.concat([good.subarray(0, 42), Buffer.alloc(65_536, Buffer.from([255, 248]))]),
    'input',
  ],
  // Each would be decoded for 128 KiB before its checksum fails: took minutes before flac-patience.
  [
    '30000 headers of verbatim blocks',
    Buffer.concat([good.subarray(0, 42), Buffer.concat(Array(30_000).fill(verbatimHead()))]),
    'input',
  ],
  [
    '8000 headers of blocks of 65535',
    Buffer.concat([good.subarray(0, 42), Buffer.concat(Array(8000).fill(frameOf(() => {}, 0, 65_535).subarray(0, 8)))]),
    'input',
  ],
];

/** Family, its files: what each is, its bytes, and how many frames come out or how it is refused. */
export const HOSTILE_FILES = [
  ['WAVE and its relatives', WAVE],
  ['W64', W64],
  ['AIFF', AIFF],
  ['CAF', CAF],
  ['FLAC', FLAC],
] as const;
