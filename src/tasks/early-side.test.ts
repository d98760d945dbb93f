// A thread begun early is the one that is asked for later, once; what is no large file begins none.
import { mkdtemp, rm, truncate, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { beginSideEarly, sideThread } from './early-side.ts';

let folder = '';
let large = '';

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'tapeproof-early-'));
  large = join(folder, 'large.wav');
  await writeFile(large, 'RIFF');
  await truncate(large, 20_000_000);
});

afterAll(() => rm(folder, { recursive: true, force: true }));

it('begins one thread for all that is large, and gives it away once', async () => {
  beginSideEarly([join(folder, 'none'), large]);
  beginSideEarly([large]);
  const [first, second] = [sideThread(), sideThread()];
  expect(first).not.toBe(second);
  expect(first.listenerCount('error')).toBe(0);
  expect(second.threadId).toBeGreaterThan(first.threadId);
  await Promise.all([first.terminate(), second.terminate()]);
});

it('says nothing of what cannot be looked at', () => {
  expect(() => beginSideEarly(['', 'no such file', folder, 'a\0b'])).not.toThrow();
});
