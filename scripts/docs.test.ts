// The documents keep what they promise: links lead somewhere, every verb they name exists, the exit-code table is the code's,
// the licence list is what npm will install.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { EXIT_CODES } from '../src/cli/exit-codes.ts';
import { allVerbs } from '../src/cli/verbs/index.ts';

const root = resolve(import.meta.dirname, '..');
const pages = [
  ...readdirSync(root).filter((name) => name.endsWith('.md')),
  ...readdirSync(join(root, 'docs'), { recursive: true, encoding: 'utf8' }).map((name) => join('docs', name)),
].filter((name) => name.endsWith('.md'));
const read = (page: string) => readFileSync(join(root, page), 'utf8');

/** Cells of the table rows of a page whose first cell fits. */
function rows(page: string, first: RegExp): string[][] {
  const cells = read(page)
    .split('\n')
    .filter((line) => line.startsWith('|'))
    .map((line) => line.split('|').map((cell) => cell.trim()));
  return cells.map((row) => row.slice(1, -1)).filter((row) => first.test(row[0]));
}

describe('documents', () => {
  it.each(pages)('%s: relative links lead to a file of the repository', (page) => {
    const prose = read(page).replace(/```[\s\S]*?```/g, '');
    const targets = [...prose.matchAll(/\]\(([^)\s]+)\)/g)].map((match) => match[1].split('#')[0]);
    const broken = targets.filter(
      (target) => target && !/^[a-z]+:/.test(target) && !existsSync(join(root, dirname(page), target)),
    );
    expect(broken).toEqual([]);
  });

  it.each(['README.md', 'GUIDE.md'])('%s names every verb, and no other', (page) => {
    const named = [...read(page).matchAll(/(?:^|`)tapeproof ([a-z]+)/gm)].map((match) => match[1]);
    expect([...new Set(named)].sort()).toEqual(
      allVerbs()
        .map((verb) => verb.name())
        .sort(),
    );
  });

  it('docs/exit-codes.md holds the table of the code', () => {
    expect(rows('docs/exit-codes.md', /^\d$/)).toEqual(
      EXIT_CODES.map(({ code, meaning, examples }) => [String(code), meaning, examples]),
    );
  });

  it('docs/licences.md lists what npm installs beside the product', () => {
    const manifest = JSON.parse(read('package.json'));
    const listed = rows('docs/licences.md', /^[@a-z]/).filter(([name]) => name !== 'package');
    expect(Object.fromEntries(listed.map(([name, version]) => [name, version]))).toEqual(manifest.dependencies);
    for (const [name, , licence] of listed)
      expect(JSON.parse(read(`node_modules/${name}/package.json`)).license).toBe(licence);
  });

  it('every file that package.json ships exists', () => {
    const { files } = JSON.parse(read('package.json')) as { files: string[] };
    const missing = files.filter((name) => !name.startsWith('!') && !existsSync(join(root, name)));
    expect(missing.map((name) => relative(root, join(root, name)))).toEqual([]);
  });
});
