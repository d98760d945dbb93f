// Channel status against sources outside this code: the two worked examples of the check byte (docs/sources.md), every IEC958 constant
// of the ALSA header where Debian's libasound2-dev is there, and properties over every field of both layouts.
import { existsSync, readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rate } from '../../base/index.ts';
import { missing } from '../../media/testing/tools.ts';
import { decodeStatus, encodeStatus, statusLayout, statusTopic } from './block.ts';
import { statusCheckByte } from './check-byte.ts';
import { parseStatusLog, typedStatus } from './status-log.ts';
import { parseStatus } from './status-text.ts';

const HEADER = '/usr/include/alsa/asoundef.h';
const valueIn = (bytes: Uint8Array, key: string) => decodeStatus(bytes).values.find((value) => value.key === key);

describe('the check byte', () => {
  it.each([
    [{ 0: 0x3d, 1: 0x02, 4: 0x02 }, 0x9b],
    [{ 0: 0x01 }, 0x32],
  ])('worked example %j gives %d', (filled, expected) => {
    const block = new Uint8Array(24);
    for (const [at, byte] of Object.entries(filled)) block[Number(at)] = byte;
    expect(statusCheckByte(block)).toBe(expected);
    block[23] = expected;
    expect(decodeStatus(block).check).toEqual({ found: expected, expected, isRight: true });
  });

  it('any single flipped bit is noticed', () => {
    const block = encodeStatus('professional', { rate: 2, word: 5, origin: 0x44434241 });
    for (let bit = 1; bit < 192; bit++) {
      const wrong = block.slice();
      wrong[bit >> 3] ^= 1 << (bit & 7);
      expect(decodeStatus(wrong).check?.isRight).toBe(false);
    }
  });
});

describe.each(['professional', 'consumer'] as const)('the %s layout', (use) => {
  const { fields } = statusLayout(use);

  it('has each of the 192 bits in exactly one field, and each key once', () => {
    let next = 0;
    for (const { bit, width } of fields) {
      expect(bit).toBe(next);
      next += width;
    }
    expect(next).toBe(192);
    expect(new Set(fields.map(({ key }) => key)).size).toBe(fields.length);
  });

  it.each(fields.filter(({ key }) => key !== 'use' && key !== 'check').map((field) => [field.key, field] as const))(
    '%s round-trips alone',
    (key, { width }) => {
      fc.assert(
        fc.property(fc.nat(2 ** Math.min(width, 31) - 1), (code) => {
          const block = encodeStatus(use, { [key]: code });
          const { values, check } = decodeStatus(block);
          expect(values.find((value) => value.key === key)?.code).toBe(code);
          const others = values.filter((value) => ![key, 'use', 'check'].includes(value.key));
          expect(others.every((value) => value.code === 0)).toBe(true);
          expect(check?.isRight ?? true).toBe(true);
        }),
        { numRuns: 40 },
      );
    },
  );

  it('any block comes back bit for bit from its fields', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 24, maxLength: 24 }), (bytes) => {
        bytes[0] = use === 'professional' ? bytes[0] | 1 : bytes[0] & 0xfe;
        const codes = Object.fromEntries(decodeStatus(bytes).values.map(({ key, code }) => [key, code]));
        expect(encodeStatus(use, codes)).toEqual(bytes);
      }),
    );
  });

  it('every named code can be typed by its words and reads back with them', () => {
    for (const { key, kind, codes } of fields) {
      if (kind === 'reserved' || key === 'use') continue;
      for (const { code, words } of codes) {
        const value = valueIn(parseStatus(`${use} ${key}=${words}`), key);
        expect([key, value?.code, value?.words]).toEqual([key, code, words]);
      }
    }
  });
});

describe('the constants of the ALSA header', () => {
  /** header word -> our layout, field, and the words our decoder must give */
  const EXPECTED: Readonly<Record<string, readonly [use: 'professional' | 'consumer', key: string, words: RegExp]>> = {
    IEC958_AES0_PRO_EMPHASIS_NONE: ['professional', 'emphasis', /^none$/],
    IEC958_AES0_PRO_EMPHASIS_5015: ['professional', 'emphasis', /^50\/15 us$/],
    IEC958_AES0_PRO_EMPHASIS_CCITT: ['professional', 'emphasis', /^J\.17$/],
    IEC958_AES0_PRO_FREQ_UNLOCKED: ['professional', 'lock', /^unlocked$/],
    IEC958_AES0_PRO_FS_44100: ['professional', 'rate', /^44100$/],
    IEC958_AES0_PRO_FS_48000: ['professional', 'rate', /^48000$/],
    IEC958_AES0_PRO_FS_32000: ['professional', 'rate', /^32000$/],
    IEC958_AES0_CON_NOT_COPYRIGHT: ['consumer', 'copy', /^permitted$/],
    IEC958_AES0_CON_EMPHASIS_5015: ['consumer', 'emphasis', /^50\/15 us$/],
    IEC958_AES1_PRO_MODE_STEREOPHONIC: ['professional', 'channel-mode', /^stereo$/],
    IEC958_AES1_PRO_MODE_SINGLE: ['professional', 'channel-mode', /^single channel$/],
    IEC958_AES1_PRO_MODE_TWO: ['professional', 'channel-mode', /^two channels$/],
    IEC958_AES1_PRO_MODE_PRIMARY: ['professional', 'channel-mode', /^primary and secondary$/],
    IEC958_AES1_PRO_MODE_BYTE3: ['professional', 'channel-mode', /byte 3/],
    IEC958_AES1_PRO_USERBITS_192: ['professional', 'user-bits', /^192-bit/],
    IEC958_AES1_PRO_USERBITS_UDEF: ['professional', 'user-bits', /^user defined$/],
    IEC958_AES1_CON_PCM_CODER: ['consumer', 'category', /^PCM coder$/],
    IEC958_AES1_CON_DAT: ['consumer', 'category', /^DAT$/],
    IEC958_AES1_CON_VCR: ['consumer', 'category', /^video recorder/],
    IEC958_AES1_CON_DCC: ['consumer', 'category', /^digital compact cassette$/],
    IEC958_AES1_CON_RATE_CONVERTER: ['consumer', 'category', /^rate converter$/],
    IEC958_AES1_CON_ADC: ['consumer', 'category', /^A\/D converter$/],
    IEC958_AES2_PRO_SBITS_20: ['professional', 'auxiliary-bits', /^coordination/],
    IEC958_AES2_PRO_SBITS_24: ['professional', 'auxiliary-bits', /^audio/],
    IEC958_AES2_PRO_WORDLEN_22_18: ['professional', 'word', /^22 \(18\)$/],
    IEC958_AES2_PRO_WORDLEN_23_19: ['professional', 'word', /^23 \(19\)$/],
    IEC958_AES2_PRO_WORDLEN_24_20: ['professional', 'word', /^24 \(20\)$/],
    // The header and the handbook disagree here: our words name both.
    IEC958_AES2_PRO_WORDLEN_20_16: ['professional', 'word', /20 \(16\)$/],
    IEC958_AES4_CON_MAX_WORDLEN_24: ['consumer', 'longest-word', /^24$/],
    IEC958_AES5_CON_CGMSA_COPYNEVER: ['consumer', 'analogue-copying', /^never$/],
  };

  it('mean to us what they mean there', (context) => {
    if (!existsSync(HEADER)) return missing(context, 'libasound2-dev is not installed');
    const constants = constantsOf(readFileSync(HEADER, 'utf8'));
    expect(constants.size).toBeGreaterThan(80);
    let checked = 0;
    for (const [name, code] of constants) {
      const byte = Number(/_AES(\d)_/.exec(name)?.[1]);
      const numbered =
        /^IEC958_AES3_CON_FS_(\d+)$|^IEC958_AES4_CON_ORIGFS_(\d+)$|^IEC958_AES4_CON_WORDLEN_(\d+)_\d+$/.exec(name);
      const own = EXPECTED[name] ?? (numbered ? numberedField(name, numbered.slice(1).find(Boolean) ?? '') : undefined);
      if (!own) continue;
      const [use, key, words] = own;
      const bytes = new Uint8Array(24);
      bytes[0] = use === 'professional' ? 1 : 0;
      bytes[byte] |= code;
      expect(valueIn(bytes, key)?.words, name).toMatch(words);
      checked++;
    }
    expect(checked).toBe(Object.keys(EXPECTED).length + 10 + 13 + 5);
  });
});

function numberedField(name: string, digits: string): readonly ['consumer', string, RegExp] {
  const key = name.includes('ORIGFS') ? 'original-rate' : name.includes('WORDLEN') ? 'word' : 'rate';
  return ['consumer', key, new RegExp(`^${digits}\\b`)];
}

/** `#define NAME (a<<b)`, `0x..`, or `(OTHER|0x..)`. */
function constantsOf(header: string): Map<string, number> {
  const out = new Map<string, number>();
  for (const [, name, body] of header.matchAll(/^#define\s+(IEC958_AES\w+)\s+(\([^)]*\)|\w+)/gm)) {
    const parts = body.replace(/[()]/g, '').split('|');
    const value = parts.reduce((sum, part) => {
      const [, base, shift = '0'] = /^\s*(\w+)\s*(?:<<\s*(\d+))?\s*$/.exec(part) ?? [];
      return sum | ((out.get(base) ?? Number(base)) << Number(shift));
    }, 0);
    out.set(name, value);
  }
  return out;
}

describe('what people type', () => {
  it('hex in any dress is the same block', () => {
    const plain = parseStatus('04820002');
    for (const text of ['04 82 00 02', '0x04 0x82 0x00 0x02', '04:82:00:02', ' 04,82,00,02 ']) {
      expect(parseStatus(text)).toEqual(plain);
    }
    const { use, values, bytesSeen, check } = decodeStatus(plain);
    expect([use, bytesSeen, check]).toEqual(['consumer', 4, null]);
    expect(values.map(({ key }) => key)).not.toContain('word');
  });

  it('words make a block with its check byte', () => {
    const block = decodeStatus(
      parseStatus('professional rate=48000 emphasis=50/15 us word=24 auxiliary-bits=audio origin=HB17'),
    );
    expect(block.check?.isRight).toBe(true);
    expect(statusTopic(block, 'rate')?.code?.number).toBe(48_000);
    expect(block.values.find(({ key }) => key === 'origin')?.words).toBe('"HB17"');
  });

  it.each([
    ['', /channel status/],
    ['zz', /channel status/],
    ['00'.repeat(25), /block/],
    ['consumer speed=1', /no field "speed"/],
    ['consumer rate=47999', /cannot be "47999"/],
    ['consumer category=digital', /cannot be/],
    ['professional origin=HARBOUR', /name/],
    ['consumer rate=#16', /does not fit/],
  ])('%j is refused', (text, message) => {
    expect(() => parseStatus(text)).toThrow(message);
  });
});

describe('a log', () => {
  const about = { rate: rate(48_000), frames: 480_000, channels: 2 };

  it('holds a status until the next of its channel and counts flagged blocks', () => {
    const text =
      '# made by hand\nframe,channel,status,invalid\n0,1,04820002,0\n0,2,04820002,0\n96000,1,,7\n96000,1,,3\n192000,1,04820000,0\n479808,1,,0\n';
    const { stretches, validity } = parseStatusLog(text, 'x.csv', about);
    expect(stretches.map(({ channel, start, length, block }) => [channel, start, length, block.hex])).toEqual([
      [1, 0, 192_000, '04820002'],
      [2, 0, 480_000, '04820002'],
      [1, 192_000, 288_000, '04820000'],
    ]);
    expect(validity[0]).toEqual({
      channel: 1,
      flagged: [{ start: 96_000, length: 192, invalid: 7 }],
      covered: { start: 0, length: 480_000 },
    });
  });

  it('takes times and typed words', () => {
    const { stretches, validity } = parseStatusLog(
      'time,status\n0:00,consumer rate=32000\n0:00:05.5,consumer rate=48000',
      'x',
      about,
    );
    expect(stretches.map(({ start, length }) => [start, length])).toEqual([
      [0, 264_000],
      [264_000, 216_000],
    ]);
    expect(validity).toEqual([]);
    expect(typedStatus('04820002', 480_000).stretches).toHaveLength(1);
  });

  it.each([
    ['', 1, /not a status log/],
    ['frame,colour\n1,2', 1, /not a status log/],
    ['frame,status\n0,0482\n\n# x\n12', 5, /number of values/],
    ['frame,status\n480001,0482', 2, /frame does not fit/],
    ['frame,channel,status\n0,3,0482', 2, /channel does not fit/],
    ['time,invalid\n0:61:99x,0', 2, /time does not fit/],
    ['frame,status\n0,048', 2, /channel status/],
  ])('%j is refused with its line', (text, line, message) => {
    expect(() => parseStatusLog(text, 'x.csv', about)).toThrow(
      expect.objectContaining({
        message: expect.stringMatching(message),
        detail: expect.objectContaining({ line, path: 'x.csv' }),
      }),
    );
  });
});
