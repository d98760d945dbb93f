// Every row of the malformed-file table (standards notes, section 1.2) and every hostile file, from the command line: what was read,
// what was not and how it could be, and the exit code. That the samples are right is the readers' own test; here the master is.
import { existsSync } from 'node:fs';
import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { HOSTILE_FILES } from '../media/testing/hostile-files.ts';
import { CONTAINER_FILES, CONTAINER_PLANES, REFUSED_CONTAINERS } from '../media/testing/malformed-containers.ts';
import { MALFORMED_PLANES, MALFORMED_WAVES, REFUSED_WAVES } from '../media/testing/malformed-waves.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { chunk, formatChunk, pcmBytes, riff } from '../media/testing/wave-bytes.ts';
import { EXIT } from './exit-codes.ts';
import { tapeproofInside } from './testing/in-process.ts';

/** Problems that are told with the way to the audio that was not read. */
const WITH_A_WAY = ['trailing-data', 'trailing-bytes', 'second-data-chunk'];

interface Row {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly problems: readonly string[];
  readonly isPartial: boolean;
  readonly isTrailingRead: boolean;
  readonly frames: number;
  readonly planes: readonly Int32Array[];
  readonly bits: number;
}

const ROWS: readonly Row[] = [
  ...MALFORMED_WAVES.map(({ name, bytes, problems, readAs, frames, planes = MALFORMED_PLANES, bits = 16 }) => ({
    ...{ name, bytes, problems, planes, bits, isTrailingRead: false },
    isPartial: readAs === 'partial',
    frames: frames ?? planes[0].length,
  })),
  ...CONTAINER_FILES.map(({ name, bytes, problems = [], readAs, frames = 4800, takeTrailing = false }) => ({
    ...{ name, bytes, problems, frames, planes: CONTAINER_PLANES, bits: 16, isTrailingRead: takeTrailing },
    isPartial: readAs === 'partial',
  })),
];

/** A folder with the odd file, a second read of the same samples that is as it should be, and a sheet of both. */
async function transferOf(bytes: Uint8Array, truth: Uint8Array, channels: number, isTrailingRead = false) {
  const folder = await tempFolder();
  const list = Array.from({ length: channels }, (_, c) => c + 1).join(', ');
  await writeFile(join(folder, 'odd.file'), bytes);
  await writeFile(join(folder, 'plain.wav'), truth);
  await writeFile(
    join(folder, 'sheet.yaml'),
    `tape: { id: T-12 }\ncaptures:\n  - { file: odd.file, pass: 1, channels: [${list}]${isTrailingRead ? ', trailing: true' : ''} }\n` +
      `  - { file: plain.wav, pass: 2, channels: [${list}] }\n`,
  );
  return folder;
}

const plainWave = (planes: readonly Int32Array[], bits: number) =>
  riff([formatChunk({ channels: planes.length, bits }), chunk('data', pcmBytes(planes, bits))]);

async function expectRefusal(folder: string, says: string | RegExp): Promise<void> {
  const run = await tapeproofInside(['run', join(folder, 'sheet.yaml'), '--out', join(folder, 'out'), '--quiet']);
  expect([run.code, run.out]).toEqual([EXIT.failed, '']);
  expect(run.err).toMatch(says);
  expect(run.err).toContain(join(folder, 'odd.file'));
  expect(run.err).not.toContain('    at ');
  expect(existsSync(join(folder, 'out')) ? await readdir(join(folder, 'out')) : []).toEqual([]);
}

describe('malformed files that can be read', () => {
  test.each(ROWS)('$name', async ({ bytes, problems, isPartial, isTrailingRead, frames, planes, bits }) => {
    const folder = await transferOf(bytes, plainWave(planes, bits), planes.length, isTrailingRead);
    const file = join(folder, 'odd.file');
    const how = isTrailingRead ? ['--trailing'] : [];
    const examined = await tapeproofInside(['examine', file, '--json', '--quiet', ...how]);
    const document = JSON.parse(examined.out).files[0];
    expect(document.problems.map(({ id }: { id: string }) => id).sort()).toEqual([...problems].sort());
    expect(document).toMatchObject({ frames, readAs: isPartial ? 'partial' : 'whole' });
    expect(examined.code).toBe(isPartial ? EXIT.needsPerson : EXIT.done);

    const { out: text } = await tapeproofInside(['examine', file, '--quiet', ...how]);
    expect(text).toContain(isPartial ? 'read only in part' : 'read as a whole');
    for (const { id, severity, message, next } of document.problems) {
      expect(text.replace(/\s+/g, ' ')).toContain(message);
      if (severity === 'damage' && WITH_A_WAY.includes(id)) expect(next).toMatch(/--trailing|--raw/);
    }

    if (frames === 0) return expectRefusal(folder, 'holds no frames');
    const out = join(folder, 'out');
    const run = await tapeproofInside(['run', join(folder, 'sheet.yaml'), '--out', out, '--quiet']);
    expect(run.err).toBe('');
    expect(run.code).toBe(isPartial ? EXIT.needsPerson : EXIT.done);
    const report = JSON.parse(await readFile(join(out, 'report.json'), 'utf8'));
    expect(report.captures[0]).toMatchObject({ path: 'odd.file', frames, readAs: document.readAs });
    expect(report.captures[0].problems).toEqual(document.problems);
    if (isPartial) expect(run.out).toMatch(/Damaged or incomplete captures\n {2}odd\.file: /);
    // Whatever the odd file lacks, the other read has: the master is the whole truth.
    const master = await readFile(join(out, 'master.wav'));
    expect(master.includes(pcmBytes(planes, bits))).toBe(true);
  });
});

describe('files that are refused', () => {
  test.each([...REFUSED_WAVES, ...REFUSED_CONTAINERS])('$name', async ({ bytes, says }) => {
    const folder = await transferOf(bytes, plainWave(MALFORMED_PLANES, 16), 2);
    const file = join(folder, 'odd.file');
    const alone = await tapeproofInside(['examine', file]);
    expect([alone.code, alone.out]).toEqual([EXIT.failed, '']);
    expect(alone.err).toMatch(says);
    expect(alone.err).not.toContain('    at ');
    const both = await tapeproofInside(['examine', file, join(folder, 'plain.wav'), '--quiet']);
    expect(both.code).toBe(EXIT.needsPerson);
    expect(both.out).toMatch(/odd\.file: not read/);
    await expectRefusal(folder, says);
  });
});

const HOSTILE = HOSTILE_FILES.flatMap(([family, files]) =>
  files.map(([name, bytes, outcome]) => ({ family, name, bytes, outcome })),
);

test('there are at least sixty hostile files', () => {
  expect(HOSTILE.length).toBeGreaterThanOrEqual(60);
});

describe('hostile files', () => {
  test.each(HOSTILE)(
    '$family: $name',
    async ({ name, bytes, outcome }) => {
      const folder = await transferOf(bytes, plainWave(MALFORMED_PLANES, 16), 2);
      const { code, out, err } = await tapeproofInside(['examine', join(folder, 'odd.file'), '--json', '--quiet']);
      expect(err).not.toContain('    at ');
      const run = await tapeproofInside(['run', join(folder, 'sheet.yaml'), '--out', join(folder, 'out'), '--quiet']);
      expect(run.err).not.toContain('    at ');
      const isCrowded = err.includes('far more channels than a tape has');
      expect(isCrowded).toBe(/(32767|65535) channels/.test(name));
      if (typeof outcome === 'string' || isCrowded) {
        expect([code, out, run.code, run.out]).toEqual([EXIT.failed, '', EXIT.failed, '']);
        expect(err).toMatch(/odd\.file/);
        return;
      }
      const [file] = JSON.parse(out).files;
      expect(file.frames).toBe(outcome);
      const isLoss = (kind: string) => ['interpolated', 'held', 'muted', 'repeated'].includes(kind);
      const wantsPerson = file.readAs === 'partial' || file.findings.some(({ kind }: { kind: string }) => isLoss(kind));
      expect(code).toBe(wantsPerson ? EXIT.needsPerson : EXIT.done);
      // Channels that the sheet does not know, other rates, nothing in common: a person is needed, or the sheet is wrong.
      expect([EXIT.needsPerson, EXIT.failed]).toContain(run.code);
    },
    30_000,
  );
});
