// The layer check must catch what it promises to catch.
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
// @ts-expect-error plain script without types
import { checkFile } from './check-layers.mjs';

const root = resolve(import.meta.dirname, '..');
const check = (path: string, text: string, owners = new Map<string, string>()): string[] =>
  checkFile(resolve(root, 'src', path), text, owners);

describe('checkFile', () => {
  it.each([
    ['an import upwards', 'signal/x.ts', "import { a } from '../tape/index.ts';"],
    ['an import past the door', 'tasks/x.ts', "import { a } from '../media/wave.ts';"],
    ['a lazy import past the door', 'cli/x.ts', "const a = await import('../tasks/demo.ts');"],
    ['a lazy import upwards', 'base/x.ts', "const a = await import('../tasks/index.ts');"],
    ['an import over several lines', 'base/x.ts', "import {\n  a,\n  b,\n} from '../signal/index.ts';"],
    ['a re-export upwards', 'base/x.ts', "export * from '../signal/index.ts';"],
    ['Node in a pure layer', 'align/x.ts', "import { readFileSync } from 'node:fs';"],
    ['values where only types may be used', 'deliver/x.ts', "import { a } from '../align/index.ts';"],
    ['a folder without a layer', 'misc/x.ts', ''],
    ['a way out of src', 'cli/x.ts', "import { a } from '../../scripts/lock.mjs';"],
  ])('refuses %s', (_, path, text) => {
    expect(check(path, text)).toHaveLength(1);
  });

  it.each([
    ['a neighbour', 'cli/x.ts', "import { a } from './y.ts';"],
    ['a door below', 'cli/x.ts', "import { a } from '../tasks/index.ts';"],
    ['types for deliver', 'deliver/x.ts', "import type { A } from '../align/index.ts';"],
    ['Node in a layer that may', 'media/x.ts', "import { open } from 'node:fs/promises';"],
    ['a test that looks anywhere', 'base/x.test.ts', "import { a } from '../cli/main.ts';"],
  ])('allows %s', (_, path, text) => {
    expect(check(path, text)).toEqual([]);
  });

  it('allows a library in one file only', () => {
    const owners = new Map<string, string>();
    expect(check('cli/a.ts', "import pc from 'picocolors';", owners)).toEqual([]);
    expect(check('cli/b.ts', "import pc from 'picocolors';", owners)).toHaveLength(1);
  });
});
