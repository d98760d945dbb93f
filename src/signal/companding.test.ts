// Truth: RFC 3190's own arithmetic and check values (formats.md 5.3, 14.4), the 8 mm candidate table, and three G.711 decoders.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { SegmentLaw } from '../base/index.ts';
import { eightMm, findLaw, g711ALaw, g711MuLaw, nonlinear12, withMidStep } from '../tape/index.ts';
import { codeBook, compress, compressTable, expand, expandTable, lookUpBlock, roundTrip } from './companding.ts';

const bitLength = (x: number): number => 32 - Math.clz32(x);

/** The programmer's form of formats.md 5.3, written down independently of the segment table. */
function referenceC(x: number): number {
  if (x < 0) return ~referenceC(~x);
  const s = bitLength(x) - 9;
  return x < 512 ? x : (x >> s) + 256 * s;
}

/** RFC 3190 table 1 for negatives, as printed: INT((x+1)/2^s) - (0x100*s + 1), INT toward zero. */
function printedNegative(x: number): number {
  const s = bitLength(-(x + 1)) - 9;
  return Math.trunc((x + 1) / 2 ** s) - (0x100 * s + 1);
}

const LAWS: readonly SegmentLaw[] = [
  nonlinear12,
  withMidStep(nonlinear12),
  eightMm(),
  withMidStep(eightMm()),
  findLaw('eight-mm-32-64-256'),
  findLaw('eight-mm-16-64-320-sign-magnitude'),
  g711ALaw,
  g711MuLaw,
];

describe('the 12-bit nonlinear law', () => {
  it('compresses all 65536 values as the printed table does', () => {
    for (let x = -32768; x < 32768; x++) {
      const word = referenceC(x) & 0xfff;
      if (compress(nonlinear12, x) !== word) expect.fail(`x = ${x}`);
      if (x < -512 && (printedNegative(x) & 0xfff) !== word) expect.fail(`printed form, x = ${x}`);
    }
  });

  it.each([
    [0x1ff, 511],
    [0x200, 512],
    [0x2ff, 1022],
    [0x3ff, 2044],
    [0x4ff, 4088],
    [0x5ff, 8176],
    [0x6ff, 16352],
    [0x7ff, 32704],
    [0xdff, -513],
    [0xd00, -1023],
    [0xcff, -1025],
    [0x900, -16353],
    [0x801, -32641],
    [0x800, -32705],
  ])('expands %i to %i', (word, x) => {
    expect(expand(nonlinear12, word)).toBe(x);
    expect(compress(nonlinear12, x)).toBe(word);
  });

  it.each([
    [513, 0x200],
    [32767, 0x7ff],
    [-1024, 0xd00],
    [-32768, 0x800],
  ])('compresses %i to %i', (x, word) => {
    expect(compress(nonlinear12, x)).toBe(word);
  });

  it('has the published sums over all codes and an error of at most 63', () => {
    const table = expandTable(nonlinear12);
    expect(table.reduce((sum, x) => sum + x, 0)).toBe(-2048);
    expect(table.reduce((sum, x) => sum + Math.abs(x), 0)).toBe(25_004_032);
    let worst = 0;
    for (let x = -32768; x < 32768; x++) worst = Math.max(worst, Math.abs(x - roundTrip(nonlinear12, x)));
    expect(worst).toBe(63);
  });

  it('halves the worst error when half a step is added', () => {
    const law = withMidStep(nonlinear12);
    let worst = 0;
    for (let x = -32768; x < 32768; x++) worst = Math.max(worst, Math.abs(x - roundTrip(law, x)));
    expect(worst).toBe(32);
    expect(expand(law, 0x200)).toBe(513);
    expect(expand(law, 0xdff)).toBe(~513);
  });
});

describe('the 8 mm law', () => {
  it.each([
    [15, 15],
    [16, 16],
    [63, 39],
    [64, 40],
    [319, 103],
    [320, 104],
    [511, 127],
  ])('candidate: %i becomes %i', (x, y) => {
    expect(compress(eightMm(), x)).toBe(y);
    expect(compress(eightMm(), ~x)).toBe(~y & 0xff);
  });

  it('expands as the candidate table says, to the lower edge', () => {
    const expansion = (y: number) => (y < 16 ? y : y < 40 ? 2 * (y - 8) : y < 104 ? 4 * (y - 24) : 8 * (y - 64));
    for (let y = 0; y < 128; y++) expect(expand(eightMm(), y)).toBe(expansion(y));
  });

  it('has 256 levels mirrored by NOT and 255 mirrored by sign', () => {
    expect(codeBook(eightMm()).length).toBe(256);
    expect(codeBook(findLaw('eight-mm-sign-magnitude')).length).toBe(255);
  });

  it('clamps the one magnitude a sign-and-magnitude word has no room for', () => {
    expect(expand(eightMm({ mirror: 'sign-magnitude' }), compress(eightMm({ mirror: 'sign-magnitude' }), -512))).toBe(
      -504,
    );
  });

  it('returns left-justified in a 16-bit container', () => {
    expect(roundTrip(eightMm(), 511 * 64 + 17, 6)).toBe(504 * 64);
    expect(roundTrip(eightMm(), -1, 6)).toBe(-64);
  });
});

describe('every law', () => {
  it.each(LAWS.map((law) => [law.id, law] as const))('%s: C(E(y)) = y, monotone, tables agree', (_, law) => {
    const expanded = expandTable(law);
    const compressed = compressTable(law);
    const twin = law.codeXor ^ (1 << (law.codeBits - 1));
    for (let word = 0; word < expanded.length; word++) {
      const isMinusZero = law.mirror === 'sign-magnitude' && word === twin && expanded[word] === 0;
      if (!isMinusZero) expect(compressed[expanded[word] & (2 ** law.linearBits - 1)]).toBe(word);
    }
    let last = -Infinity;
    for (let x = -(2 ** (law.linearBits - 1)); x < 2 ** (law.linearBits - 1); x++) {
      const value = expand(law, compress(law, x));
      if (value < last) expect.fail(`not monotone at ${x}`);
      last = value;
    }
  });

  it('looks up blocks in place and out of place', () => {
    const input = Int32Array.from([-32768, -1, 0, 513, 32767]);
    const words = new Int32Array(5);
    lookUpBlock(compressTable(nonlinear12), input, words);
    expect([...words]).toEqual([0x800, 0xfff, 0, 0x200, 0x7ff]);
    lookUpBlock(expandTable(nonlinear12), words, words, 4);
    expect([...words]).toEqual([-32705, -1, 0, 512, 0x7ff]);
  });
});

describe('G.711', () => {
  it('has the known values', () => {
    const aLaw = (word: number) => expand(g711ALaw, word) * 8;
    expect([0x55, 0xd5, 0x00, 0x80].map(aLaw)).toEqual([-8, 8, -5504, 5504]);
    expect(Math.max(...expandTable(g711ALaw)) * 8).toBe(32256);
    expect(codeBook(g711ALaw).length).toBe(256);
    expect([0x7f, 0xff, 0x00, 0x80].map((word) => expand(g711MuLaw, word) * 4)).toEqual([0, 0, -32124, 32124]);
    expect(codeBook(g711MuLaw).length).toBe(255);
  });

  const decoders = ['ffmpeg', 'sox', 'libsndfile'] as const;
  it.for(decoders)('decodes all 256 codes as %s does', (decoder, { skip }) => {
    const aLaw = decodeWith(decoder, 'alaw');
    const muLaw = decodeWith(decoder, 'mulaw');
    if (!aLaw || !muLaw) {
      if (process.env.CI === 'true') expect.fail(`${decoder} is missing`);
      skip(`${decoder} is not installed`);
      return;
    }
    expect(aLaw).toEqual([...expandTable(g711ALaw)].map((x) => x * 8));
    expect(muLaw).toEqual([...expandTable(g711MuLaw)].map((x) => x * 4));
  });
});

function decodeWith(decoder: 'ffmpeg' | 'sox' | 'libsndfile', form: 'alaw' | 'mulaw'): number[] | undefined {
  const folder = mkdtempSync(join(tmpdir(), 'tapeproof-g711-'));
  try {
    const [input, output] = [join(folder, `codes.${form}`), join(folder, 'out.raw')];
    writeFileSync(
      input,
      Uint8Array.from({ length: 256 }, (_, word) => word),
    );
    const short = form === 'alaw' ? 'al' : 'ul';
    const python = `import soundfile as s,sys
d,_=s.read(sys.argv[1],dtype='int16',samplerate=8000,channels=1,format='RAW',subtype='${form === 'alaw' ? 'ALAW' : 'ULAW'}')
d.astype('<i2').tofile(sys.argv[2])`;
    const commands = {
      ffmpeg: ['ffmpeg', '-v', 'error', '-f', form, '-ar', '8000', '-i', input, '-f', 's16le', output],
      sox: ['sox', '-t', short, '-r', '8000', '-c', '1', input, '-t', 'raw', '-e', 'signed', '-b', '16', '-L', output],
      libsndfile: ['/usr/bin/python3', '-c', python, input, output],
    };
    const [program, ...rest] = commands[decoder];
    if (spawnSync(program, rest).status !== 0) return undefined;
    const bytes = readFileSync(output);
    return Array.from({ length: 256 }, (_, n) => bytes.readInt16LE(2 * n));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
