// The odd files of other projects' sample sets from the command line: each is examined to its end or refused with the place, and
// `run` makes the master from it or says why not. Which frames and samples come out is the readers' own test in media/.
import { readdirSync, readFileSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { needTestData, tempFolder } from '../media/testing/tools.ts';
import { EXIT } from './exit-codes.ts';
import { tapeproofInside } from './testing/in-process.ts';

test.for(['wave', 'flac'])('%s', async (set, context) => {
  const folder = join(needTestData(context), set);
  const names = readdirSync(folder).filter((name) => /\.(wav|flac)$/.test(name));
  expect(names.length).toBeGreaterThan(5);
  let refused = 0;
  for (const name of names) if (await isRefused(join(folder, name))) refused++;
  // Six have a header no reader can use, two hold floats that are no integers, two lack their first letters.
  expect(refused).toBe(set === 'wave' ? 10 : 0);
});

async function isRefused(path: string): Promise<boolean> {
  const { code, out, err } = await tapeproofInside(['examine', path, '--json', '--quiet']);
  const transfer = await tempFolder();
  const channels = code === EXIT.failed ? 1 : JSON.parse(out).files[0].channels;
  const map = Array.from({ length: channels }, (_, channel) => channel + 1).join(', ');
  await writeFile(
    join(transfer, 'sheet.yaml'),
    `tape: { id: T-1 }\ncaptures:\n  - { file: ${JSON.stringify(path)}, pass: 1, channels: [${map}] }\n`,
  );
  const result = join(transfer, 'out');
  const run = await tapeproofInside(['run', join(transfer, 'sheet.yaml'), '--out', result, '--quiet']);
  expect(err + run.err).not.toContain('    at ');
  if (code === EXIT.failed) {
    expect([out, run.code, run.out], path).toEqual(['', EXIT.failed, '']);
    expect(err, path).toContain(path);
    return true;
  }
  expect(run.code, path).not.toBe(EXIT.failed);
  const [capture] = JSON.parse(readFileSync(join(result, 'report.json'), 'utf8')).captures;
  const [file] = JSON.parse(out).files;
  expect(capture, path).toMatchObject({ frames: file.frames, readAs: file.readAs, problems: file.problems });
  return false;
}
