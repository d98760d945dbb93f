// Mistakes people make at a keyboard, and words that must not be guessed.
import { expect, test } from 'vitest';
import { nearWord } from './near-word.ts';

const KNOWN = ['id', 'format', 'word', 'rate', 'channels'];

test.each([
  ['wrod', 'word'],
  ['chanels', 'channels'],
  ['Formt', 'format'],
  ['rat', 'rate'],
])('%s means %s', (word, meant) => {
  expect(nearWord(word, KNOWN)).toBe(`did you mean ${meant}?`);
});

test('nothing near, nothing said', () => {
  expect(nearWord('speed', KNOWN)).toBeUndefined();
  expect(nearWord('x'.repeat(100_000), KNOWN)).toBeUndefined();
  expect(nearWord('id', [])).toBeUndefined();
});
