// A thread gives the digests that the crypto library gives at once, in whatever pieces and from whatever memory the bytes come.
import { createHash, randomBytes } from 'node:crypto';
import { expect, it } from 'vitest';
import { sharedBytes, startHashes } from './hashes.ts';

/** Enough for a thread where the machine has a second processor. */
const MANY = 2 ** 30;

it('gives each stream its own digest, from shared buffers used again and from others', async () => {
  const hashes = startHashes(2, MANY);
  const buffers = [sharedBytes(100_000), sharedBytes(100_000)];
  const expected = [createHash('sha256'), createHash('sha256')];
  for (let turn = 0; turn < 40; turn++) {
    const bytes = randomBytes(1 + turn * 2_500);
    const streams = turn % 3 === 0 ? [0, 1] : [turn % 2];
    const shared = buffers[turn % 2].subarray(0, bytes.length);
    shared.set(bytes);
    hashes.update(streams, turn % 5 === 0 ? bytes : shared);
    for (const stream of streams) expected[stream].update(bytes);
    await hashes.settle(1);
  }
  expect(await hashes.digests()).toEqual(expected.map((hash) => hash.digest('hex')));
  await hashes.close();
});

it('can be closed before it is done, and again', async () => {
  const hashes = startHashes(1, MANY);
  hashes.update([0], sharedBytes(1000));
  await hashes.close();
  await hashes.close();
});
