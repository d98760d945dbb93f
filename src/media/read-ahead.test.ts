// Whatever is asked for in whatever order, the bytes are those of the file.
import { randomBytes } from 'node:crypto';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { openBytes } from './byte-file.ts';
import { ReadAhead } from './read-ahead.ts';
import { tempFolder } from './testing/tools.ts';

it('gives the bytes of the file, one behind the other, out of order and at the same time', async () => {
  const content = randomBytes(100_000);
  const path = join(await tempFolder(), 'bytes');
  await writeFile(path, content);
  const file = await openBytes(path);
  const ahead = new ReadAhead(file, 90_000, 8000);
  const check = async (at: number, length: number) => {
    const bytes = await ahead.take(at, length);
    expect(Buffer.from(bytes).equals(content.subarray(at, at + length)), `${length} bytes at ${at}`).toBe(true);
    return bytes;
  };
  for (let at = 0; at < 24_000; at += 8000) ahead.giveBack(await check(at, 8000));
  // Shorter and longer than what was fetched beforehand, elsewhere, and up to the end.
  for (const [at, length] of [
    [24_000, 3000],
    [27_000, 8000],
    [60_000, 8000],
    [68_000, 500],
    [68_500, 500],
    [69_000, 8000],
    [77_000, 8000],
    [85_000, 5000],
  ])
    ahead.giveBack(await check(at, length));
  const both = await Promise.all([check(1000, 8000), check(9000, 8000), check(17_000, 8000)]);
  expect(new Set(both.map(({ buffer }) => buffer)).size).toBe(3);
  await file.close();
});

it('tells of a file that became shorter to whoever asks for the bytes', async () => {
  const path = join(await tempFolder(), 'bytes');
  await writeFile(path, new Uint8Array(20_000));
  const file = await openBytes(path);
  const ahead = new ReadAhead(file, 20_000, 5000);
  ahead.giveBack(await ahead.take(0, 5000));
  await writeFile(path, new Uint8Array(12_000));
  ahead.giveBack(await ahead.take(5000, 5000));
  await expect(ahead.take(10_000, 5000)).rejects.toMatchObject({ kind: 'io' });
  await file.close();
});
