// The committed bytes of the kernels are those of their source.
import { readFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
// @ts-expect-error a plain script without types
import { GENERATED, generate } from './wasm.mjs';

const root = resolve(dirname(fileURLToPath(import.meta.url)), '..');

it('kernels-wasm.ts is what a fresh compilation gives', async () => {
  expect(readFileSync(join(root, GENERATED), 'utf8')).toBe(await generate(root));
});
