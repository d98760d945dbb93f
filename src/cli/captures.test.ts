// What a capture may consist of, from the command line: takes in several files, folders, bare samples, audio behind a short size, and
// what is no file at all. Truth: noise cut into pieces here, and digests by Node's own hash.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { noisePlanes } from '../media/testing/signals.ts';
import { tempFolder } from '../media/testing/tools.ts';
import { bextChunk, chunk, formatChunk, pcmBytes, riff } from '../media/testing/wave-bytes.ts';
import { EXIT } from './exit-codes.ts';
import { tapeproofInside } from './testing/in-process.ts';

const FRAMES = 30_000;
const CUT = 12_345;
const PLANES = noisePlanes(2, FRAMES, 16);
const WHOLE = pcmBytes(PLANES, 16);
const START = 48_000 * 3600;
const sha = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex');

function wave(from: number, to: number, time?: number): Buffer {
  const bext = time === undefined ? [] : [bextChunk(time)];
  return riff([...bext, formatChunk(), chunk('data', WHOLE.subarray(from * 4, to * 4))]);
}

/** Two parts by time reference, the same by name only, and the whole as another read. */
async function folderOfParts(): Promise<string> {
  const folder = await tempFolder();
  await writeFile(join(folder, 'take.wav'), wave(0, CUT, START));
  await writeFile(join(folder, 'take_1.wav'), wave(CUT, FRAMES, START + CUT));
  await writeFile(join(folder, 'n1.wav'), wave(0, CUT));
  await writeFile(join(folder, 'n2.wav'), wave(CUT, FRAMES));
  await writeFile(join(folder, 'whole.wav'), wave(0, FRAMES));
  return folder;
}

async function examine(...args: string[]) {
  const { code, out, err } = await tapeproofInside(['examine', '--json', '--quiet', ...args]);
  return { code, err, document: out === '' ? undefined : JSON.parse(out) };
}

/** Runs a sheet of the captures given and the whole as the last pass. */
async function run(folder: string, captures: readonly string[]) {
  const lines = captures.map((capture, i) => `  - { ${capture}, pass: ${i + 1}, channels: [1, 2] }`);
  const last = `  - { file: whole.wav, pass: ${captures.length + 1}, channels: [1, 2] }`;
  const sheet = join(folder, 'sheet.yaml');
  await writeFile(sheet, `${['tape: { id: T-3 }', 'captures:', ...lines, last].join('\n')}\n`);
  const out = join(folder, 'out');
  const { code, out: text, err } = await tapeproofInside(['run', sheet, '--out', out, '--quiet']);
  const read = async (name: string) => JSON.parse(await readFile(join(out, name), 'utf8'));
  return { code, text, err, out, report: () => read('report.json'), editList: () => read('edit-list.json') };
}

/** Without the line breaks of the terminal. */
const flat = (text: string) => text.replace(/\s+/g, ' ');
const idsOf = ({ problems }: { problems: { id: string }[] }) => problems.map(({ id }) => id);

describe('a take in several files: examine', () => {
  test('sure parts are one, in time order; the digests are of each file and of all', async () => {
    const folder = await folderOfParts();
    const files = ['take_1.wav', 'take.wav'].map((name) => join(folder, name));
    const { code, document } = await examine(...files);
    expect(code).toBe(EXIT.done);
    expect(document.files).toHaveLength(1);
    const [first, second] = [await readFile(files[1]), await readFile(files[0])];
    expect(document.files[0]).toMatchObject({
      path: files[1],
      frames: FRAMES,
      readAs: 'whole',
      digests: { file: { sha256: sha(Buffer.concat([first, second])) }, audio: { sha256: sha(WHOLE) } },
      parts: [
        { path: files[1], start: 0, frames: CUT, sha256: sha(first) },
        { path: files[0], start: CUT, frames: FRAMES - CUT, sha256: sha(second) },
      ],
      joints: [{ gapFrames: 0, confidence: 0.999 }],
    });
    const { out } = await tapeproofInside(['examine', '--quiet', ...files]);
    expect(out).toContain('take.wav and 1 more part');
  });

  test('names alone join nothing unless told to; --parts apart never does', async () => {
    const folder = await folderOfParts();
    const files = ['n1.wav', 'n2.wav'].map((name) => join(folder, name));
    const guess = await examine(...files);
    expect(guess.document.files.map(idsOf)).toEqual([['take-not-joined'], ['take-not-joined']]);
    expect(guess.code).toBe(EXIT.done);
    const told = await examine(...files, '--parts', 'joined');
    expect(told.document.files).toHaveLength(1);
    expect(told.document.files[0]).toMatchObject({ frames: FRAMES, problems: [{ id: 'take-unproven' }] });
    const sure = ['take.wav', 'take_1.wav'].map((name) => join(folder, name));
    expect((await examine(...sure, '--parts', 'apart')).document.files).toHaveLength(2);
    // Against the time references: done as told, and a person is asked.
    const wrong = await examine(...sure.reverse(), '--parts', 'joined');
    expect([wrong.code, idsOf(wrong.document.files[0])]).toEqual([EXIT.needsPerson, ['take-doubtful']]);
  });

  test('a part beside the file that was named is remarked, before it and behind it', async () => {
    const folder = await folderOfParts();
    for (const [own, other, says] of [
      ['take.wav', 'take_1.wav', 'the next part'],
      ['take_1.wav', 'take.wav', 'the part before'],
    ]) {
      const { code, document } = await examine(join(folder, own));
      const [problem] = document.files[0].problems;
      expect(problem).toMatchObject({ id: 'take-part-beside', severity: 'warning' });
      expect(problem.message).toContain(`${join(folder, other)} is ${says}`);
      expect(code).toBe(EXIT.done);
    }
    const alone = await examine(join(folder, 'n1.wav'));
    expect(alone.document.files[0].problems).toMatchObject([{ id: 'take-part-beside', severity: 'note' }]);
  });

  test('a gap is a finding at its frame and damage', async () => {
    const folder = await tempFolder();
    const files = [join(folder, 'a_1.wav'), join(folder, 'a_2.wav')];
    await writeFile(files[0], wave(0, CUT, START));
    await writeFile(files[1], wave(CUT + 480, FRAMES, START + CUT + 480));
    const { code, document } = await examine(...files);
    expect(code).toBe(EXIT.needsPerson);
    expect(document.files[0]).toMatchObject({ frames: FRAMES - 480, readAs: 'partial' });
    expect(idsOf(document.files[0])).toEqual(['take-gap']);
    const gaps = document.files[0].findings.filter(({ kind }: { kind: string }) => kind === 'gap');
    expect(gaps).toMatchObject([{ start: CUT, length: 0, measured: 480, unit: 'frames missing', channels: [1, 2] }]);
  });
});

describe('a folder', () => {
  test('its audio in order, folders inside too, what is no audio passed over, a broken one told', async () => {
    const folder = await tempFolder();
    for (const name of ['F01', 'F02', '.hidden']) await mkdir(join(folder, name));
    await writeFile(join(folder, 'F02/T.wav'), wave(CUT, FRAMES, START + CUT));
    await writeFile(join(folder, 'F01/T.wav'), wave(0, CUT, START));
    await writeFile(join(folder, 'x10.bin'), wave(0, 4000));
    await writeFile(join(folder, 'x9.bin'), wave(4000, 9000));
    await writeFile(join(folder, 'notes.txt'), 'evening');
    await writeFile(join(folder, 'broken.wav'), 'no audio');
    await writeFile(join(folder, '.hidden/x.wav'), wave(0, 4000));
    const { code, document } = await examine(folder);
    expect(code).toBe(EXIT.needsPerson);
    expect(document.files.map(({ path }: { path: string }) => path.slice(folder.length + 1))).toEqual([
      'F01/T.wav',
      'x9.bin',
      'x10.bin',
    ]);
    expect(document.files[0].frames).toBe(FRAMES);
    expect(document.failed).toMatchObject([{ path: join(folder, 'broken.wav') }]);
    expect(document.passedOver).toEqual([join(folder, 'notes.txt')]);
  });

  test('without audio, and one that a description of bare samples is given for', async () => {
    const folder = await tempFolder();
    const empty = await examine(folder);
    expect([empty.code, empty.err]).toEqual([EXIT.failed, expect.stringContaining('no audio file in this folder')]);
    await writeFile(join(folder, 'a.wav'), wave(0, 4000));
    const raw = await examine(folder, '--raw', '48000:2:s16le');
    expect([raw.code, raw.err]).toEqual([EXIT.failed, expect.stringContaining('a folder')]);
  });
});

describe('a take in several files: run', () => {
  const provesAll = async ({ code, err, out }: { code: number; err: string; out: string }) => {
    expect([code, err]).toEqual([EXIT.done, '']);
    expect((await readFile(join(out, 'master.wav'))).includes(WHOLE)).toBe(true);
  };

  test('files: all parts; edit list and report name both with their digests; the master comes again', async () => {
    const folder = await folderOfParts();
    const result = await run(folder, ['files: [take.wav, take_1.wav]']);
    await provesAll(result);
    const digests = await Promise.all(
      ['take.wav', 'take_1.wav'].map(async (n) => sha(await readFile(join(folder, n)))),
    );
    const { sources } = await result.editList();
    expect(sources[0].parts).toEqual([
      { path: '../take.wav', sha256: digests[0], frames: CUT },
      { path: '../take_1.wav', sha256: digests[1], frames: FRAMES - CUT },
    ]);
    const report = await result.report();
    expect(report.captures[0].parts).toMatchObject([
      { path: 'take.wav', sha256: digests[0] },
      { path: 'take_1.wav', sha256: digests[1] },
    ]);
    for (const face of ['report.txt', 'report.html']) {
      const text = await readFile(join(result.out, face), 'utf8');
      for (const digest of digests) expect(text).toContain(digest);
    }
    const again = await tapeproofInside([
      'assemble',
      join(result.out, 'edit-list.json'),
      '--out',
      join(folder, 'again'),
    ]);
    expect(again.code, again.err).toBe(EXIT.done);
    const masters = await Promise.all(['out', 'again'].map((name) => readFile(join(folder, name, 'master.wav'))));
    expect(masters[0].equals(masters[1])).toBe(true);
  });

  test('file: the first part stands for its take, which is said', async () => {
    const result = await run(await folderOfParts(), ['file: take.wav']);
    await provesAll(result);
    const [capture] = (await result.report()).captures;
    expect(capture).toMatchObject({ path: 'take.wav', frames: FRAMES, problems: [{ id: 'take-part-found' }] });
    expect(result.text).toContain('take_1.wav was read as the next part');
  });

  test('files: with one name means this file alone; a file that the sheet names elsewhere is no part', async () => {
    const alone = await run(await folderOfParts(), ['files: [take.wav]']);
    expect((await alone.report()).captures[0]).toMatchObject({ frames: CUT, problems: [] });
    const both = await run(await folderOfParts(), ['file: take.wav', 'file: take_1.wav']);
    expect((await both.report()).captures.map(({ frames }: { frames: number }) => frames)).toEqual([
      CUT,
      FRAMES - CUT,
      FRAMES,
    ]);
  });

  test('a later part without the first asks for a person; a likely part is told and not read', async () => {
    const later = await run(await folderOfParts(), ['file: take_1.wav']);
    expect(later.code).toBe(EXIT.needsPerson);
    expect(flat(later.text)).toContain('take.wav is the part before this one and was not read');
    expect(flat(later.text)).toContain('write files: [take.wav, take_1.wav]');
    const likely = await run(await folderOfParts(), ['file: n1.wav']);
    expect((await likely.report()).captures[0]).toMatchObject({ frames: CUT, problems: [{ id: 'take-part-beside' }] });
    expect(flat(likely.text)).toContain('write files: [n1.wav, n2.wav]');
  });

  test('parts that do not fit each other are refused, those that contradict their times are doubted', async () => {
    const folder = await folderOfParts();
    await writeFile(join(folder, 'mono.wav'), riff([formatChunk({ channels: 1 }), chunk('data', WHOLE)]));
    const unfit = await run(folder, ['files: [take.wav, mono.wav]']);
    expect([unfit.code, unfit.err]).toEqual([EXIT.failed, expect.stringContaining('not a part of the same take')]);
    const wrong = await run(folder, ['files: [take_1.wav, take.wav]']);
    expect(wrong.code).toBe(EXIT.needsPerson);
    expect(idsOf((await wrong.report()).captures[0])).toEqual(['take-doubtful']);
  });
});

describe('bare samples and audio behind a short size', () => {
  test('--raw and raw: read the same; the edit list remembers it', async () => {
    const folder = await folderOfParts();
    await writeFile(join(folder, 'dump.bin'), Buffer.concat([Buffer.alloc(9), WHOLE]));
    const { document } = await examine(join(folder, 'dump.bin'), '--raw', '48000:2:s16le:9');
    expect(document.files[0]).toMatchObject({
      container: 'raw',
      frames: FRAMES,
      readWith: { raw: '48000:2:s16le:9' },
      digests: { audio: { sha256: sha(WHOLE) } },
    });
    const result = await run(folder, ['file: dump.bin, raw: 48000:2:s16le:9']);
    expect([result.code, result.err]).toEqual([EXIT.done, '']);
    expect((await result.editList()).sources[0]).toMatchObject({ path: '../dump.bin', raw: '48000:2:s16le:9' });
    const again = await tapeproofInside([
      'assemble',
      join(result.out, 'edit-list.json'),
      '--out',
      join(folder, 'again'),
    ]);
    expect(again.code, again.err).toBe(EXIT.done);
    const align = await tapeproofInside([
      'align',
      join(folder, 'dump.bin'),
      join(folder, 'dump.bin'),
      '--raw',
      '48000:2:s16le:9',
      '--quiet',
    ]);
    expect(align.code, align.err).toBe(EXIT.done);
  });

  test('without it, with a wrong one, and on a file that describes itself', async () => {
    const folder = await folderOfParts();
    await writeFile(join(folder, 'dump.bin'), WHOLE);
    const bare = await examine(join(folder, 'dump.bin'));
    expect([bare.code, bare.err]).toEqual([EXIT.failed, expect.stringContaining('--raw 48000:2:s24le')]);
    for (const spec of ['48000', '48000:2:s16', '0:2:s16le', '48000:2:s16le:99999999', '48000:300:s16le']) {
      const { code, err } = await examine(join(folder, 'dump.bin'), '--raw', spec);
      expect([spec, code, err]).toEqual([spec, EXIT.failed, expect.stringContaining('expected:')]);
    }
    const sheet = await run(folder, ['file: dump.bin, raw: 48000:2:s16']);
    expect([sheet.code, sheet.err]).toEqual([
      EXIT.failed,
      expect.stringMatching(/sheet\.yaml:3:\d+: not a description/),
    ]);
    const self = await examine(join(folder, 'whole.wav'), '--raw', '48000:2:s16le');
    expect(idsOf(self.document.files[0])).toEqual(['raw-has-header']);
  });

  test('a short size: told with the way to read it; --trailing and trailing: take it', async () => {
    const folder = await folderOfParts();
    const short = riff([formatChunk(), chunk('data', WHOLE, { size: CUT * 4 })]);
    await writeFile(join(folder, 'short.wav'), short);
    const told = await examine(join(folder, 'short.wav'));
    expect(told.code).toBe(EXIT.needsPerson);
    expect(told.document.files[0].problems[0].next).toContain('--trailing (on the sheet: trailing: true)');
    const taken = await examine(join(folder, 'short.wav'), '--trailing');
    expect(taken.document.files[0]).toMatchObject({ frames: FRAMES, readAs: 'whole', readWith: { trailing: true } });
    const without = await run(folder, ['file: short.wav']);
    expect([without.code, flat(without.text)]).toEqual([
      EXIT.needsPerson,
      expect.stringContaining('(on the sheet: trailing: true)'),
    ]);
    const result = await run(folder, ['file: short.wav, trailing: true']);
    expect([result.code, result.err]).toEqual([EXIT.done, '']);
    expect((await result.editList()).sources[0]).toMatchObject({ trailing: true, frames: FRAMES });
  });

  test('a second audio chunk: the advice reads exactly what was left out', async () => {
    const folder = await folderOfParts();
    const two = riff([
      formatChunk(),
      chunk('data', WHOLE.subarray(0, CUT * 4)),
      chunk('data', WHOLE.subarray(CUT * 4)),
    ]);
    await writeFile(join(folder, 'two.wav'), two);
    const { document } = await examine(join(folder, 'two.wav'));
    const spec = /--raw (\S+)/.exec(document.files[0].problems[0].next)?.[1] ?? '';
    const rest = await examine(join(folder, 'two.wav'), '--raw', spec);
    expect(rest.document.files[0].digests.audio.sha256).toBe(sha(WHOLE.subarray(CUT * 4)));
    const result = await run(folder, ['file: two.wav', `file: two.wav, raw: "${spec}"`]);
    expect(result.code).toBe(EXIT.needsPerson);
    expect((await result.report()).captures.map(({ frames }: { frames: number }) => frames)).toEqual([
      CUT,
      FRAMES - CUT,
      FRAMES,
    ]);
  });
});

describe('what is no file of audio ends at once with a clear sentence', () => {
  const CASES: readonly [what: string, says: RegExp][] = [
    ['nothing.wav', /nothing\.wav: no such file/],
    ['folder.wav', /no audio file in this folder/],
    ['fifo.wav', /not a file that can be read[\s\S]*a device, pipe or socket/],
    ['/dev/zero', /not a file that can be read[\s\S]*a device, pipe or socket/],
    ['empty.wav', /the file is empty/],
    ['whole.wav/x.wav', /no such file/],
    ['text.wav', /no audio file of a known kind/],
    ['bad\0name.wav', /cannot be opened/],
  ];

  test.each(CASES)('%j', async (what, says) => {
    const folder = await folderOfParts();
    await mkdir(join(folder, 'folder.wav'));
    await writeFile(join(folder, 'empty.wav'), '');
    await writeFile(join(folder, 'text.wav'), 'dear diary');
    const path = what.startsWith('/') ? what : join(folder, what);
    if (what === 'fifo.wav') execFileSync('mkfifo', [path]);
    const alone = await examine(path);
    expect([alone.code, alone.err]).toEqual([EXIT.failed, expect.stringMatching(says)]);
    expect(alone.err).not.toContain('    at ');
    for (const verb of [['align'], ['reconcile', '--out', join(folder, 'best.wav')], ['measure']]) {
      const { code, out, err } = await tapeproofInside([...verb, path, join(folder, 'nowhere.wav'), '--quiet']);
      expect([verb[0], code, out]).toEqual([verb[0], EXIT.failed, '']);
      expect(err).not.toContain('    at ');
    }
    const sheet = await run(folder, [`file: ${JSON.stringify(what)}`]);
    expect(sheet.code, sheet.text).toBe(EXIT.failed);
    expect(sheet.err).not.toContain('    at ');
  });
});
