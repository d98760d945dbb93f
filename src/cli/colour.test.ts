// When colour may be written, against the rule of no-color.org.
import { describe, expect, it } from 'vitest';
import { coloursFor } from './colour.ts';

describe('coloursFor', () => {
  it('colours a terminal', () => {
    expect(coloursFor({ isTTY: true }, {}).error('x')).toContain('\u001b[');
  });

  it.each([
    ['a pipe', { isTTY: false }, {}],
    ['a pipe though colour is forced', {}, { FORCE_COLOR: '1' }],
    ['NO_COLOR', { isTTY: true }, { NO_COLOR: '1' }],
    ['NO_COLOR against FORCE_COLOR', { isTTY: true }, { NO_COLOR: '1', FORCE_COLOR: '1' }],
    ['a dumb terminal', { isTTY: true }, { TERM: 'dumb' }],
  ])('writes none for %s', (_, stream, env) => {
    expect(coloursFor(stream, env).error('x')).toBe('x');
  });

  it('takes an empty NO_COLOR as not set', () => {
    expect(coloursFor({ isTTY: true }, { NO_COLOR: '' }).strong('x')).not.toBe('x');
  });
});
