// Sheets written by hand, with the line and column of every error counted by hand; hostile YAML must end in a clear error.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, expect, test } from 'vitest';
import { describeError, TapeproofError } from '../base/index.ts';
import { loadSheet, parseSheet } from './sheet.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapeproof-sheet-'));
afterAll(() => rmSync(folder, { recursive: true }));

const GOOD = `tape: { id: HB-0417, format: eight-track-8mm, system: 525/60, word: 16, rate: 48000 }
captures:
  - { file: p1-north.wav, pass: 1, deck: bench-2, recorder: north, channels: [1, 2] }
  - { file: p1-south.wav, pass: 1, deck: bench-2, recorder: south, channels: [3, 4] }
  - { file: p2-north.wav, pass: 2, deck: bench-2, recorder: north, channels: [1, 0], offset: -480 }   # a second read
notes: evening
`;

function errorOf(text: string): TapeproofError {
  try {
    parseSheet(text, 'tapes/sheet.yaml');
  } catch (error) {
    if (error instanceof TapeproofError) return error;
    throw error;
  }
  throw new Error('the sheet was accepted');
}

async function loadError(path: string): Promise<TapeproofError> {
  const error: unknown = await loadSheet(path).catch((caught: unknown) => caught);
  if (!(error instanceof TapeproofError)) throw new Error(`not refused: ${String(error)}`);
  return error;
}

function write(name: string, data: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, data);
  return path;
}

test('the sheet of the guide, with defaults filled', () => {
  const sheet = parseSheet(GOOD, '/tapes/sheet.yaml');
  expect(sheet.tape).toEqual({
    id: 'HB-0417',
    format: 'eight-track-8mm',
    system: '525/60',
    word: 16,
    rate: { num: 48_000, den: 1 },
  });
  expect(sheet.notes).toBe('evening');
  expect(sheet.captures).toHaveLength(3);
  expect(sheet.captures[2]).toEqual({
    files: [{ name: 'p2-north.wav', path: '/tapes/p2-north.wav' }],
    isListed: false,
    raw: null,
    trailing: false,
    segment: null,
    status: null,
    pass: 2,
    deck: 'bench-2',
    recorder: 'north',
    channels: [1, 0],
    offset: -480,
    starts: null,
    timecode: null,
    notes: null,
    line: 5,
    column: 13,
  });
});

test('the least sheet: a name and one capture', () => {
  const sheet = parseSheet('tape: { id: A }\ncaptures:\n  - { file: a.wav, pass: 1, channels: [1] }\n', '/t/s.yaml');
  expect(sheet.tape).toEqual({ id: 'A', format: null, system: null, word: null, rate: null });
  expect(sheet.captures[0]).toMatchObject({ deck: null, recorder: null, offset: null, notes: null });
});

test.each([
  ['48000', 48_000, 1],
  ['44.056k', 44_056, 1],
  ['"4500000/143"', 4_500_000, 143],
  ['4500000/143', 4_500_000, 143],
  ['"44.1 kHz"', 44_100, 1],
])('rate %s', (text, num, den) => {
  const sheet = parseSheet(GOOD.replace('48000', text).replace('format: eight-track-8mm, ', ''), 's.yaml');
  expect(sheet.tape.rate).toEqual({ num, den });
});

test('one mistyped key: place, what is known, what was meant', () => {
  const error = errorOf(GOOD.replace('recorder: south', 'recoder: south'));
  expect(error.kind).toBe('input');
  expect(error.message).toBe('unknown key "recoder"');
  expect(error.detail).toMatchObject({
    path: 'tapes/sheet.yaml',
    line: 4,
    column: 51,
    expected:
      'one of file, files, pass, deck, recorder, channels, offset, starts, timecode, raw, trailing, segment, status, notes',
    next: 'did you mean recorder?',
  });
  expect(describeError(error)).toMatch(/^tapes\/sheet\.yaml:4:51: unknown key/);
});

test('all errors at once, each with its place, in the order of the text', () => {
  const error = errorOf(`tape: { id: 417, format: eight-track-9mm, wrod: 16, rate: 44.1 }
captures:
  - { file: a.wav, pass: 0, channels: [1, 1] }
  - { file: ./a.wav, channels: [0, 0] }
  - { file: c.wav, pass: 2, channels: [] }
nots: x
`);
  expect(error.message.split('\n').map((line) => /^ {2}(\d+:\d+) /.exec(line)?.[1] ?? line)).toEqual([
    '11 errors in the transfer sheet',
    '1:13',
    '1:26',
    '1:43',
    '1:59',
    '3:26',
    '3:43',
    '4:5',
    '4:13',
    '4:32',
    '5:39',
    '6:1',
  ]);
  expect(error.message).toContain('1:26 no tape format is called "eight-track-9mm"');
  expect(error.message).toContain('did you mean word?');
  expect(error.message).toContain('give hertz, or write kilohertz with a k');
  expect(error.message).toContain('3:43 channel 1 stands twice in one file');
  expect(error.message).toContain('4:5 pass of capture 2 is missing');
  expect(error.message).toContain('4:13 the same file as capture 1');
  expect(error.message).toContain('4:32 no channel of this file is used');
  expect(error.detail).toMatchObject({ line: 1, column: 13 });
});

test.each([
  ['system', GOOD.replace('525/60', '525/25'), 1, 'no television system is called "525/25"'],
  ['word', GOOD.replace('word: 16', 'word: 7'), 1, 'tape.word does not fit'],
  [
    'system of the format',
    GOOD.replace('eight-track-8mm, system: 525/60', 'dv-625-48k, system: 525/60'),
    1,
    'does not exist',
  ],
  ['several modes', GOOD.replace('eight-track-8mm', 'dat').replace(', word: 16, rate: 48000', ''), 1, 'several modes'],
  ['duplicate key', GOOD.replace('pass: 2,', 'pass: 2, pass: 3,'), 5, 'the key "pass" stands here twice'],
  ['fraction of a channel', GOOD.replace('[3, 4]', '[3, 4.5]'), 4, 'channels of capture 2 does not fit'],
  ['text for a number', GOOD.replace('pass: 2', 'pass: two'), 5, 'pass of capture 3 does not fit'],
  ['no captures', 'tape: { id: A }\n', 1, 'captures is missing'],
  ['captures not a list', 'tape: { id: A }\ncaptures: none\n', 2, 'captures does not fit'],
  ['a list', '- a\n- b\n', 1, 'does not fit'],
  ['one word', 'hello', 1, 'does not fit'],
  ['empty', '', 1, 'the sheet is empty'],
  ['only a comment', '# nothing\n', 1, 'the sheet is empty'],
  ['a start together with nobody', GOOD.replace('offset: -480', 'starts: rack'), 5, 'no other capture of its pass'],
  ['hidden key', `${GOOD}__proto__: { x: 1 }\n`, 7, '__proto__'],
  ['two documents', `${GOOD}---\ntape: {}\n`, 7, 'documents'],
  ['a tag', GOOD.replace('evening', '!!js/function x'), 6, 'tag'],
])('clear error: %s', (_, text, line, message) => {
  const error = errorOf(text);
  expect(error.kind).toBe('input');
  expect(error.message).toContain(message);
  expect(error.detail.line).toBe(line);
});

test('a tab as indentation is named with its place', () => {
  const error = errorOf('tape:\n\tid: A\n');
  expect(error.message.toLowerCase()).toContain('tab');
  expect(error.message + error.detail.next).toContain('indent with spaces');
});

test('alias bombs and deep nests end at once', () => {
  const bomb = Array.from({ length: 30 }, (_, i) => `k${i}: &a${i} [${i ? `*a${i - 1}, *a${i - 1}` : '1'}]`).join('\n');
  expect(errorOf(bomb).message).toContain('a reference to another place');
  for (const deep of ['['.repeat(60_000), '- '.repeat(60_000), '{a: '.repeat(20_000), `${'? '.repeat(20_000)}x`]) {
    expect(errorOf(deep).kind).toBe('input');
  }
  const keys = Array.from({ length: 20_000 }, (_, i) => `k${i}: 1`).join('\n');
  expect(errorOf(keys).message).toBe('far too many keys for a sheet');
  const items = errorOf(`tape: { id: A }\ncaptures:\n${'- 1\n'.repeat(20_000)}`).message;
  expect(items).toContain('and 19980 more');
  expect(items.length).toBeLessThan(10_000);
});

test('any text ends in a sheet or in our error (random damage to a good sheet)', () => {
  const piece = fc.constantFrom(
    '{',
    '}',
    '[',
    ']',
    ':',
    '- ',
    '\n',
    '\t',
    '&a',
    '*a',
    '!',
    '"',
    "'",
    '|',
    '>',
    '%',
    '\u0000',
    '0x',
    '~',
  );
  const edit = fc.tuple(fc.nat(GOOD.length), fc.nat(12), piece);
  fc.assert(
    fc.property(fc.array(edit, { minLength: 1, maxLength: 4 }), (edits) => {
      let text = GOOD;
      for (const [at, cut, put] of edits) text = text.slice(0, at) + put + text.slice(at + cut);
      try {
        expect(parseSheet(text, 's.yaml').captures.length).toBeGreaterThan(0);
      } catch (error) {
        if (!(error instanceof TapeproofError)) throw error;
        expect(error.kind).toBe('input');
        expect(error.detail.line).toBeGreaterThan(0);
      }
    }),
    { numRuns: 400, seed: 7 },
  );
});

test('files: all there, one missing (at its line), a folder in its place', async () => {
  write('p1-north.wav', '');
  write('p1-south.wav', '');
  write('p2-north.wav', '');
  const path = write('good.yaml', GOOD);
  expect((await loadSheet(path)).captures[0].files[0].path).toBe(join(folder, 'p1-north.wav'));
  const missing = await loadError(write('missing.yaml', GOOD.replace('p1-south', 'p9-south')));
  expect(missing.message).toBe('capture file not found');
  expect(missing.detail).toMatchObject({ line: 4, column: 13, found: join(folder, 'p9-south.wav') });
  const both = await loadError(write('both.yaml', GOOD.replace('p1-south.wav', '.').replace('word: 16', 'word: x')));
  expect(both.message).toContain('1:69 tape.word does not fit');
  expect(both.message).toContain('4:13 not a file');
});

test('what is no sheet at all', async () => {
  const binary = await loadError(write('binary.yaml', Uint8Array.from([0x52, 0x49, 0x46, 0x46, 0, 1, 2])));
  expect(binary.message).toBe('this is not a text file');
  expect(binary.detail.offset).toBe(4);
  const latin = await loadError(write('latin.yaml', Uint8Array.from([0x61, 0x3a, 0x20, 0xe9, 0x0a])));
  expect(latin.detail.offset).toBe(3);
  expect((await loadError(join(folder, 'nowhere.yaml'))).message).toBe('the transfer sheet cannot be opened');
  expect((await loadError(folder)).message).toBe('the transfer sheet is not a file');
  expect((await loadError(write('huge.yaml', 'a'.repeat(300_000)))).kind).toBe('limit');
});
