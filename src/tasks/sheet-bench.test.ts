// The sections a plan is made from, written by hand with the line and column of every error counted by hand; and what the short ways of
// writing mean.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it, test } from 'vitest';
import { TapeproofError } from '../base/index.ts';
import { planRequest, trustedOf } from './plan-request.ts';
import { planSheet } from './plan-sheet.ts';
import { loadBenchSheet, parseSheet } from './sheet.ts';
import { bytesOf, numbersOf, rateRangeOf } from './sheet-values.ts';

const folder = mkdtempSync(join(tmpdir(), 'tapeproof-bench-'));
afterAll(() => rmSync(folder, { recursive: true }));

const GOOD = `tape: { id: HB-0417, format: eight-track-8mm, system: 525/60, rate: 48000 }
wanted: { channels: 1-8, reads: 2, minutes: 62, condition: fair, signs: [mould] }
bench:
  decks:
    - name: bench-1
      plays: [eight-track-8mm]
      systems: [525]
      outputs:
        - { name: out 1-2, kind: aes3, channels: [1, 2] }
        - { kind: spdif, choices: [[3, 4], [5, 6]] }
        - { kind: spdif, width: 4 }
  recorders:
    - name: north
      inputs: [{ kind: aes3 }, { name: data, kind: dif }]
      rates: [44.1k, 30k-50k]
      bits: [24, 16]
      clock: word
      resamples: switchable
      limit: 2 GiB
      splits: true
      storage: 64 GB
      starts: rack
rules: { passes: 8, handling: 25, prefer: proof, join: timecode, analogue: true, cost: { pass: 5 } }
`;

function write(text: string): string {
  const path = join(folder, `${Math.random()}.yaml`);
  writeFileSync(path, text);
  return path;
}

async function errorOf(text: string): Promise<TapeproofError> {
  const error: unknown = await loadBenchSheet(write(text)).catch((caught: unknown) => caught);
  if (!(error instanceof TapeproofError)) throw new Error(`not refused: ${String(error)}`);
  return error;
}

test('a whole bench, with everything said', async () => {
  const request = planRequest(await loadBenchSheet(write(GOOD)));
  expect(request.wanted).toEqual({
    ...{ programmes: null, channels: [1, 2, 3, 4, 5, 6, 7, 8], reads: 2, minutes: 62 },
    ...{ speed: null, condition: 'fair', signs: ['mould'] },
  });
  expect(request.decks[0]).toMatchObject({ systems: ['525/60'], speeds: null, timecode: false, wear: 1 });
  expect(request.decks[0].outputs).toEqual([
    { name: 'out 1-2', kind: 'aes3', width: 2, choices: [[1, 2]] },
    {
      name: 'spdif 1',
      kind: 'spdif',
      width: 2,
      choices: [
        [3, 4],
        [5, 6],
      ],
    },
    { name: 'spdif 2', kind: 'spdif', width: 4, choices: null },
  ]);
  expect(request.recorders[0]).toEqual({
    ...{ name: 'north', equipment: null, bits: [16, 24], clock: 'word', resamples: 'switchable' },
    inputs: [
      { name: 'aes3', kind: 'aes3', channels: 2 },
      { name: 'data', kind: 'dif', channels: 8 },
    ],
    rates: [
      { lowHz: 44_100, highHz: 44_100 },
      { lowHz: 30_000, highHz: 50_000 },
    ],
    ...{ fileLimit: 2 ** 31, splits: true, storage: 64e9, timecode: false, starts: 'rack' },
  });
  expect(request.rules).toMatchObject({
    passes: 8,
    handlingMinutes: 25,
    prefer: 'proof',
    join: 'timecode',
    analogue: true,
  });
  expect(request.rules.cost).toMatchObject({ pass: 5, hour: 60 });
});

test('what is not said is taken on trust, and told', async () => {
  const bare = `tape: { id: A }
bench:
  decks: [{ name: d, outputs: [{ kind: spdif }] }]
  recorders: [{ name: r, inputs: [{ kind: spdif }] }, { name: data, inputs: [{ kind: dif }] }]
`;
  const sheet = await loadBenchSheet(write(bare));
  expect(planRequest(sheet).wanted).toMatchObject({ reads: 2, condition: 'good', channels: null });
  const told = trustedOf(sheet, new Set(['d', 'r', 'data'])).join('\n');
  expect(told).toMatch(/two are planned/);
  expect(told).toMatch(/Deck d: that it can replay/);
  expect(told).toMatch(/Recorder r: .*follows the clock.*does not resample.*any rate.*16 and 24 bits/);
  expect(told).not.toContain('Recorder data');
});

describe('errors with line and column', () => {
  it.each([
    ['no bench', 'tape: { id: A }\n', 1, 1, 'bench is missing'],
    [
      'no inputs',
      GOOD.replace('[{ kind: aes3 }, { name: data, kind: dif }]', '[]'),
      14,
      15,
      'inputs of recorder 1 does not fit',
    ],
    [
      'no decks',
      GOOD.replace(/ {4}- name: bench-1[\s\S]*width: 4 }\n/, '').replace('decks:', 'decks: []'),
      4,
      10,
      'bench.decks does not fit',
    ],
    ['a mistyped key', GOOD.replace('resamples:', 'resample:'), 18, 7, 'unknown key "resample"'],
    [
      'a mistyped kind',
      GOOD.replace('kind: spdif, choices', 'kind: spidf, choices'),
      10,
      19,
      'kind of output 2 of deck 1 is none that is known',
    ],
    [
      'a format there is not',
      GOOD.replace('plays: [eight-track-8mm]', 'plays: [eight-track-9mm]'),
      6,
      15,
      'no tape format is called "eight-track-9mm"',
    ],
    ['a system there is not', GOOD.replace('[525]', '[526]'), 7, 17, 'no television system is called "526"'],
    [
      'an output twice',
      GOOD.replace('{ kind: spdif, choices', '{ name: Out 1-2, kind: spdif, choices'),
      10,
      19,
      'output 2 has the name of output 1',
    ],
    [
      'fixed and switched',
      GOOD.replace('kind: spdif, choices', 'kind: spdif, channels: [3, 4], choices'),
      10,
      44,
      'both channels and choices',
    ],
    [
      'more than the cable',
      GOOD.replace('channels: [1, 2] }', 'channels: [1, 2], width: 1 }'),
      9,
      50,
      'channels of output 1 of deck 1 has more channels',
    ],
    [
      'a channel twice',
      GOOD.replace('[[3, 4], [5, 6]]', '[[3, 4], [5, 5]]'),
      10,
      44,
      'a channel stands twice in choices.2 of output 2 of deck 1',
    ],
    ['a range the wrong way', GOOD.replace('30k-50k', '50k-30k'), 15, 22, 'rates.2 of recorder 1 does not fit'],
    ['a size that is none', GOOD.replace('2 GiB', 'two'), 19, 14, 'limit of recorder 1 does not fit'],
    ['splits at no size', GOOD.replace('      limit: 2 GiB\n', ''), 19, 7, 'splits of recorder 1 without limit'],
    ['numbers that are none', GOOD.replace('1-8', '8-1'), 2, 21, 'wanted.channels does not fit'],
    [
      'fewer passes than reads',
      GOOD.replace('passes: 8', 'passes: 1'),
      23,
      18,
      'the rules contradict what is wanted: 2 reads are 2 passes at least',
    ],
    [
      'fewer passes than programmes',
      GOOD.replace('reads: 2', 'reads: 2, programmes: 1-6')
        .replace('eight-track-8mm', 'eight-mm-six-programmes')
        .replace('rate: 48000', 'rate: "4500000/143"'),
      23,
      18,
      '2 reads of 6 programmes are 12 passes',
    ],
    ['no condition', GOOD.replace('condition: fair', 'condition: rotten'), 2, 60, 'wanted.condition does not fit'],
  ])('%s', async (_, text, line, column, message) => {
    const error = await errorOf(text);
    expect(error.kind).toBe('input');
    expect(error.message).toContain(message);
    expect(error.detail).toMatchObject({ line, column });
  });

  it('a sheet for a plan is none for run, and the other way round: the way out is told', async () => {
    const captures = 'tape: { id: A }\ncaptures:\n  - { file: a.wav, pass: 1, channels: [1] }\n';
    expect((await errorOf(captures)).detail.next).toContain('tapeproof run');
    try {
      parseSheet(GOOD, 's.yaml');
      throw new Error('accepted');
    } catch (error) {
      expect(error).toMatchObject({
        message: 'captures is missing',
        detail: { next: expect.stringContaining('tapeproof plan') },
      });
    }
  });

  it('several errors stand together, also those of other sections', async () => {
    const error = await errorOf(
      GOOD.replace('rate: 48000', 'rate: 48').replace('reads: 2', 'reads: none').replace('clock: word', 'clock: own'),
    );
    expect(error.message.split('\n').map((line) => line.slice(0, 8))).toEqual([
      '3 errors',
      '  1:69 t',
      '  2:33 w',
      '  17:14 ',
    ]);
  });
});

test('numbers, sizes, ranges', () => {
  expect(numbersOf('1-3, 7', 8)).toEqual([1, 2, 3, 7]);
  expect(numbersOf(4, 8)).toEqual([4]);
  for (const wrong of ['', '0-3', '1-9', '3-1', '1,1', '1;2', [], [1.5], null])
    expect(numbersOf(wrong, 8)).toBeUndefined();
  expect(['2 GiB', '2GiB', '4 GB', '64G', '1000', 512].map(bytesOf)).toEqual([2 ** 31, 2 ** 31, 4e9, 64e9, 1000, 512]);
  for (const wrong of ['', 'GB', '-1', '2 XB', '0', 0, '1 iB']) expect(bytesOf(wrong)).toBeUndefined();
  expect(rateRangeOf('4500000/143')).toEqual({ lowHz: 4_500_000 / 143, highHz: 4_500_000 / 143 });
  expect(rateRangeOf('44.1k-48k')).toEqual({ lowHz: 44_100, highHz: 48_000 });
  for (const wrong of ['', 'fast', '1-2-3', '48k-44k']) expect(rateRangeOf(wrong)).toBeUndefined();
});

test('any text ends in a plan or in our error with a place (random damage to a good bench)', async () => {
  const piece = fc.constantFrom(
    '{',
    '}',
    '[',
    ']',
    ':',
    '- ',
    '\n',
    ', ',
    '0',
    '-1',
    '1e9',
    '99',
    'null',
    'true',
    '"',
    '&a',
    '*a',
    '\u0000',
    'dif',
    'aes3',
  );
  const edit = fc.tuple(fc.nat(GOOD.length), fc.nat(8), piece);
  const works = GOOD.replace('clock: word', 'clock: input').replace('passes: 8, ', '');
  let plans = 0;
  let errors = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(edit, { minLength: 1, maxLength: 3 }), async (edits) => {
      let text = works;
      for (const [at, cut, put] of edits) text = text.slice(0, at) + put + text.slice(at + cut);
      try {
        expect((await planSheet(write(text))).passes.length).toBeGreaterThan(0);
        plans++;
      } catch (error) {
        if (!(error instanceof TapeproofError)) throw error;
        expect(error.kind).toBe('input');
        errors++;
      }
    }),
    { numRuns: 300, seed: 11 },
  );
  expect([plans > 0, errors > 0]).toEqual([true, true]);
});
