import { describe, expect, test } from 'vitest';
import { type Ballot, type EvidenceLevel, vote } from './vote.ts';

/** "value@pass" with marks: ~ looks concealed by chance, ! found but no look, # shown (found or beyond 20:1), x an error code */
function ballots(text: string): Ballot[] {
  return text.split(' ').map((item) => {
    const [, value, pass, mark] = /^(-?\d+)@(\d+)([~!#x]?)$/.exec(item) ?? [];
    const level: EvidenceLevel = mark === '#' ? 2 : mark === '!' ? 1 : 0;
    const odds = mark === '#' ? 14 : mark === '!' ? 7 : 0;
    const isLost = mark === 'x';
    return { value: Number(value), pass: Number(pass), level, odds, looks: mark === '#' || mark === '~', isLost };
  });
}

const TABLE: readonly (readonly [reads: string, value: number, state: string, code: string])[] = [
  // two reads
  ['5@1# 7@2', 7, 'chosen', 'other-read-concealed'],
  ['5@1 7@2#', 5, 'chosen', 'other-read-concealed'],
  ['5@1! 7@2', 7, 'chosen', 'other-read-concealed'],
  ['5@1# 7@2!', 7, 'chosen', 'other-read-concealed'],
  ['5@1 7@2', 5, 'unproven', 'reads-differ'],
  ['5@1~ 7@2', 5, 'unproven', 'reads-differ'],
  ['5@1# 7@2#', 5, 'unproven', 'all-reads-concealed'],
  // three reads: majority with a clean member
  ['5@1 5@2 7@3', 5, 'proven', 'majority'],
  ['7@1 5@2 5@3', 5, 'proven', 'majority'],
  ['5@1# 5@2 7@3', 5, 'proven', 'majority'],
  ['5@1~ 5@2 7@3', 5, 'proven', 'majority'],
  // a majority that only looks concealed proves nothing
  ['5@1# 5@2# 7@3', 7, 'chosen', 'other-read-concealed'],
  ['5@1~ 5@2~ 7@3', 5, 'unproven', 'reads-differ'],
  ['5@1~ 5@2~ 7@3#', 5, 'chosen', 'other-read-concealed'],
  ['5@1! 5@2! 7@3!', 5, 'unproven', 'all-reads-concealed'],
  ['5@1 6@2 7@3', 5, 'unproven', 'reads-differ'],
  ['5@1# 6@2# 7@3', 7, 'chosen', 'other-read-concealed'],
  ['5@1# 6@2 7@3', 6, 'unproven', 'reads-differ'],
  // an error code has no vote
  ['-9@1x 7@2', 7, 'chosen', 'other-read-lost'],
  ['5@1 -9@2x', 5, 'chosen', 'other-read-lost'],
  ['5@1~ -9@2x', 5, 'chosen', 'other-read-lost'],
  ['5@1# -9@2x', 5, 'unproven', 'all-reads-concealed'],
  ['-9@1x 5@2 5@3', 5, 'proven', 'majority'],
  ['-9@1x 5@2 5@2', 5, 'chosen', 'other-read-lost'],
  ['-9@1x 5@2 6@3', 5, 'unproven', 'reads-differ'],
  ['-9@1x 5@2# 6@3', 6, 'chosen', 'other-read-concealed'],
  ['-9@1x -9@2x 6@3', 6, 'chosen', 'other-read-lost'],
  ['-9@1x -8@2x', -9, 'unproven', 'all-reads-lost'],
  // two recorders of one pass are one voice
  ['5@1 5@1 7@2', 5, 'unproven', 'reads-differ'],
  ['5@1# 5@1# 7@2', 7, 'chosen', 'other-read-concealed'],
  // four reads
  ['5@1 5@2 7@3 7@4', 5, 'unproven', 'reads-differ'],
  ['5@1# 5@2# 7@3 7@4', 7, 'chosen', 'other-read-concealed'],
  ['5@1 5@2 5@3 7@4', 5, 'proven', 'majority'],
  ['5@1 5@2 6@3 7@4', 5, 'proven', 'majority'],
];

describe('the vote at one sample', () => {
  test.each(TABLE)('%s gives %i, %s, %s', (reads, value, state, code) => {
    const list = ballots(reads);
    const result = vote(list, [...list.keys()]);
    expect({ value: list[result.winner].value, state: result.state, code: result.code }).toEqual({
      value,
      state,
      code,
    });
  });

  test('where nothing decides, the order of preference does, and it never reaches a more concealed value', () => {
    expect(vote(ballots('5@1 7@2'), [1, 0]).winner).toBe(1);
    expect(vote(ballots('5@1# 6@2 7@3'), [0, 2, 1]).winner).toBe(2);
  });

  test('odds below 20:1 against the rival choose nothing', () => {
    const [a, b] = ballots('5@1# 7@2');
    expect(
      vote(
        [
          { ...a, odds: 6 },
          { ...b, odds: 3.1 },
        ],
        [0, 1],
      ).state,
    ).toBe('unproven');
    expect(
      vote(
        [
          { ...a, odds: 6 },
          { ...b, odds: 2.9 },
        ],
        [0, 1],
      ).state,
    ).toBe('chosen');
  });
});
