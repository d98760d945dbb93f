// Documents appear whole or not at all.
import { mkdir, readdir, readFile, stat, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { isTemporaryName, temporaryName, writeFileSafely } from './safe-file.ts';
import { tempFolder } from './testing/tools.ts';

test('text and bytes, new and over an old file, empty and large', async () => {
  const folder = await tempFolder();
  const path = join(folder, 'report.json');
  for (const content of ['first', 'zw\u00f6lf \u266b', '', 'x'.repeat(3_000_000), Uint8Array.of(0, 255, 10)]) {
    await writeFileSafely(path, content);
    expect(await readFile(path)).toEqual(Buffer.from(content as string));
    expect(await readdir(folder)).toEqual(['report.json']);
  }
});

test('failures leave the old state and no temporary file', async () => {
  const folder = await tempFolder();
  await mkdir(join(folder, 'taken'));
  await expect(writeFileSafely(join(folder, 'taken'), 'x')).rejects.toMatchObject({ kind: 'io' });
  expect((await stat(join(folder, 'taken'))).isDirectory()).toBe(true);
  await expect(writeFileSafely(join(folder, 'none/report.json'), 'x')).rejects.toMatchObject({
    kind: 'io',
    detail: { path: join(folder, 'none/report.json'), found: 'ENOENT' },
  });
  await writeFile(join(folder, 'file'), '');
  await expect(writeFileSafely(join(folder, 'file/report.json'), 'x')).rejects.toMatchObject({ kind: 'io' });
  expect((await readdir(folder)).sort()).toEqual(['file', 'taken']);
});

test('temporary names are recognised, others are not', () => {
  const name = temporaryName('/a/b/master.wav');
  expect(name).toMatch(/^\/a\/b\/\.master\.wav\.tapeproof-\d+-[0-9a-f]{8}\.part$/);
  expect(isTemporaryName(name)).toBe(true);
  expect(['master.wav', '.master.wav.part', '.tapeproof', 'x.tapeproof-1-ab.part'].some(isTemporaryName)).toBe(false);
});
