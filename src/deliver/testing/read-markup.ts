// A small reader of our pages for the tests: judges that they are well formed, and gives the names of their elements.
import { expect } from 'vitest';

/** Tags in balance, attributes quoted, every ampersand an entity: throws otherwise. */
export function readMarkup(html: string): string[] {
  const open: string[] = [];
  const names: string[] = [];
  const style = /<style>[^<]*<\/style>/;
  const text = html.replace('<!DOCTYPE html>', '').replace(style, '');
  for (const [all, closing, name, attributes, self] of text.matchAll(
    /<(\/?)([a-z][a-z0-9]*)((?:\s[a-zA-Z0-9:-]+="[^"<]*")*)(\/?)>/g,
  )) {
    names.push(name);
    expect(attributes).not.toMatch(/\s(?:on\w*=|src=|href="[^#])/);
    if (closing) expect(open.pop(), all).toBe(name);
    else if (!self) open.push(name);
  }
  expect(open).toEqual([]);
  const rest = text.replace(/<\/?[a-z][a-z0-9]*(?:\s[a-zA-Z0-9:-]+="[^"<]*")*\/?>/g, '');
  expect(/[<>]/.test(rest)).toBe(false);
  expect(rest.replace(/&(?:amp|lt|gt|quot|#39);/g, '').includes('&')).toBe(false);
  return names;
}
